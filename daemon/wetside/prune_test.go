package main

import (
	"encoding/json"
	"os"
	"path/filepath"
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"wetside/daemon/audit"
	"wetside/daemon/history"
	"wetside/rules/duty"
	"wetside/rules/past"
	"wetside/sensors"
	"wetside/sensors/clocktest"
)

// pastHistory holds readings of long ago and settings by which tray temperatures are
// kept for ten years. Its last record is of the given time.
func pastHistory(t *testing.T, last time.Time) string {
	data := stoppedHistory(t)
	file := write(t,
		"channel,unit,time,value\ntray,C,1999-12-31T23:59:50Z,20\ntray,C,2000-01-01T00:00:10Z,20\ntray,C,2000-01-01T00:00:20Z,20\n")
	require.Equal(t, exitDone, say(t, "import", "--data", data, "--file", file, "--by", "A. Keeper", "--why", "test").code)
	file = write(t, "channel,unit,time,value\nflow,m3/h,1999-12-31T23:59:50Z,270\n")
	require.Equal(t, exitDone, say(t, "import", "--data", data, "--file", file, "--quantity", "volume-flow", "--room", "wet", "--by",
		"A. Keeper", "--why", "test").code)
	store, err := history.Open(t.Context(), history.Options{Dir: data, Clock: clocktest.New(last), Zone: time.UTC})
	require.NoError(t, err)
	site := past.Site{Zone: "UTC", Keeping: []duty.Keeping{{Quantities: []string{"bath-temperature"}, For: duty.Interval{Months: 120},
		Why: "an invented rule"}}}
	require.NoError(t, audit.Keep(t.Context(), store, site))
	require.NoError(t, store.Close())
	return data
}

func TestOnlyWhatNoDutyKeepsIsDeletedAndOnTheRecord(t *testing.T) {
	data := pastHistory(t, time.Now())
	list := say(t, "prune", "--data", data)
	require.Equal(t, exitDone, list.code, list.errs)
	require.Contains(t, list.out, "tray: samples: 3, days: 2, from 1999-12-31 up to")
	require.Contains(t, list.out, "To be kept for 10 years (an invented rule)")
	require.NotContains(t, list.out, "flow", "what no table names is kept for ever")
	require.Contains(t, list.out, "Nothing was deleted.")
	before := say(t, "export", "--data", data, "--samples", "-", "--channel", "flow", "--channel", "tray", "--from", "2001-01-01").out

	require.Equal(t, exitUnusable, say(t, "prune", "--data", data, "--delete").code, "nobody deletes without a name")
	counted := filepath.Join(data, "wetside.counted-1999")
	require.NoError(t, os.WriteFile(counted, nil, 0o600))
	done := say(t, "prune", "--data", data, "--delete", "--by", "A. Keeper")
	require.Equal(t, exitDone, done.code, done.errs)
	require.NoFileExists(t, counted, "nor is anything left of what was counted of it")
	require.Contains(t, done.out, "tray was deleted up to ")
	require.Equal(t, before, say(t, "export", "--data", data, "--samples", "-", "--channel", "flow", "--channel", "tray", "--from",
		"2001-01-01").out)
	require.NotContains(t, say(t, "export", "--data", data, "--samples", "-").out, "tray,C,1999")
	verified := say(t, "verify", "--data", data)
	require.Equal(t, exitDone, verified.code, verified.errs)
	require.Contains(t, say(t, "prune", "--data", data).out, "There is nothing to delete: everything is to be kept.")
	require.Contains(t, say(t, "prune", "--data", stoppedHistory(t)).out, "name no time for which anything is kept",
		"no rule is no duty that keeps everything")

	reader, err := history.OpenReader(t.Context(), history.Options{Dir: data, Clock: sensors.NewSystemClock(1), Zone: time.UTC})
	require.NoError(t, err)
	defer reader.Close()
	records, err := reader.Records(t.Context(), history.Query{Kinds: []string{history.KindDeleted}})
	require.NoError(t, err)
	require.Len(t, records, 1)
	require.Equal(t, "A. Keeper", records[0].Person)
	var d history.Deleted
	require.NoError(t, json.Unmarshal(records[0].Content, &d))
	require.EqualValues(t, 3, d.Samples)
	require.Equal(t, "1999-12-31", d.From)
	require.Equal(t, "an invented rule", d.Why)
}

func TestNothingIsDeletedByAClockThatRunsFarAhead(t *testing.T) {
	data := runningHistory(t)
	reader, err := history.OpenReader(t.Context(), history.Options{Dir: data, Clock: sensors.NewSystemClock(1), Zone: time.UTC})
	require.NoError(t, err)
	defer reader.Close()
	ahead := believable(t.Context(), reader, time.Date(2066, 1, 1, 0, 0, 0, 0, time.UTC))
	require.ErrorContains(t, ahead, "the clock says 2066-01-01 and the last record is of 2026-10-14")
	require.NoError(t, believable(t.Context(), reader, time.Date(2027, 1, 1, 0, 0, 0, 0, time.UTC)))
}
