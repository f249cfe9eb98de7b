package daemon_test

import (
	"strings"
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"wetside/daemon/history"
	"wetside/rules"
	"wetside/rules/truth"
	"wetside/sensors/clocktest"
)

// clockWord is what the page of probes says of the computer's clock.
func (e *evening) clockWord() string {
	_, page := e.get("/rooms/practice/probes")
	for _, word := range []string{"Behind an earlier record", "Clock was changed", "Not confirmed", "Confirmed"} {
		if containsState(page, word) {
			return word
		}
	}
	return ""
}

// containsState says whether a page shows a word as the state of the clock.
func containsState(page, word string) bool {
	return strings.Contains(page, "<strong>"+word+"</strong>")
}

// lateNight writes a record every half hour of a late session and gives their offsets and times.
func lateNight(t *testing.T, zone *time.Location, begins time.Time) (offsets []int, ats []time.Time) {
	clock := clocktest.New(begins)
	store, err := history.Open(t.Context(), history.Options{Dir: t.TempDir(), Clock: clock, Zone: zone})
	require.NoError(t, err)
	defer func() { require.NoError(t, store.Close()) }()
	for range 6 {
		r, err := store.Record(t.Context(), history.Entry{Kind: rules.ReportComplaint{}.Kind()})
		require.NoError(t, err)
		offsets, ats = append(offsets, r.OffsetSeconds), append(ats, r.At)
		clock.Advance(30 * time.Minute)
	}
	return offsets, ats
}

// saysOfItsClock waits until the page says so.
func (e *evening) saysOfItsClock(word string) {
	e.becomes("the clock is: "+word, func() bool { return e.clockWord() == word })
}

func TestAClockThatWasWrongUntilTwentyPastSixAndAnEmptyBattery(t *testing.T) {
	e := newEvening(t, "0s fill trays; 0s start fan")
	e.clock.Step(-25 * time.Hour) // the computer came up with yesterday's time
	e.until(5 * time.Second)
	e.does(truth.FitProbe{Channel: tray, Probe: "P-1"})
	e.saysOfItsClock("Behind an earlier record")
	wrong := e.clock.Now().Wall

	e.clock.Step(26*time.Hour + 20*time.Minute) // 18:20: somebody sets it
	e.until(8 * time.Second)
	e.saysOfItsClock("Clock was changed")
	raw, _, view := e.reads(tray)
	require.NotZero(t, raw)
	require.Less(t, view.Age, 5*time.Second, "ages do not depend on the clock")
	require.Empty(t, e.now().alarms())

	now := e.clock.Now().Wall
	require.Contains(t, e.refuses(rules.ConfirmClock{Against: "radio clock", Seen: now.Add(7 * time.Minute)}),
		"set the computer's clock first")
	require.Contains(t, e.refuses(rules.ConfirmClock{Seen: now}), "clock that you looked at")
	e.does(rules.ConfirmClock{Against: "radio clock", Seen: now.Truncate(time.Minute)})
	e.until(10 * time.Second)
	e.saysOfItsClock("Confirmed")
	e.does(truth.RemoveProbe{Channel: tray, Why: "broken"})

	e.end()
	require.NoError(t, <-e.ended)
	right := e.clock.Now().Wall
	e.clock.Step(time.Date(1970, 1, 1, 0, 1, 0, 0, time.UTC).Sub(right)) // the battery is empty
	e.start()
	e.until(13 * time.Second)
	e.saysOfItsClock("Behind an earlier record")
	e.does(truth.FitProbe{Channel: tray, Probe: "P-2", From: e.clock.Now().Wall})
	e.clock.Step(right.Add(time.Minute).Sub(e.clock.Now().Wall))
	e.until(15 * time.Second)
	e.saysOfItsClock("Clock was changed")

	store := e.stop()
	all, err := store.Records(e.ctx, history.Query{})
	require.NoError(t, err)
	said := map[string]string{}
	for i, r := range all {
		require.Equal(t, uint64(i+1), r.Number, "records stay in the order in which they were written, whatever the clock said")
		said[r.Kind+" "+r.At.Format("2006-01-02")] = r.Clock
	}
	require.Equal(t, history.ClockBehind, said["probe fitted "+wrong.Format("2006-01-02")])
	require.Equal(t, history.ClockConfirmed, said["probe removed "+right.Format("2006-01-02")])
	require.Equal(t, history.ClockBehind, said["probe fitted 1970-01-01"])
	require.GreaterOrEqual(t, len(records(t, store, history.KindClockStepped)), 3)
	found, err := store.VerifyBook(e.ctx)
	require.NoError(t, err)
	require.Nil(t, found.Broken)
}

func TestBothNightsOfTheSummerTimeHaveUTCAndTheOffsetOfThePlace(t *testing.T) {
	zone, err := time.LoadLocation("Europe/Vienna")
	require.NoError(t, err)
	for _, night := range []struct {
		name          string
		begins        time.Time
		before, after int // offsets in seconds
	}{
		{"the repeated hour", time.Date(2026, 10, 24, 23, 30, 0, 0, time.UTC), 7200, 3600},
		{"the hour that is left out", time.Date(2026, 3, 28, 23, 30, 0, 0, time.UTC), 3600, 7200},
	} {
		t.Run(night.name, func(t *testing.T) {
			offsets, ats := lateNight(t, zone, night.begins)
			require.Equal(t, night.before, offsets[0])
			require.Equal(t, night.after, offsets[len(offsets)-1])
			for i := 1; i < len(ats); i++ {
				require.Equal(t, 30*time.Minute, ats[i].Sub(ats[i-1]), "no half hour is lost or counted twice")
			}
		})
	}
}
