package main

import (
	"encoding/csv"
	"encoding/json"
	"fmt"
	"io"
	"os"
	"path/filepath"
	"strconv"
	"strings"
	"testing"
	"time"

	"github.com/stretchr/testify/require"
	"go.uber.org/zap"

	"wetside/configs"
	"wetside/daemon/config"
	"wetside/daemon/history"
)

// table is a table of a report, each row by the names of its columns.
func table(t *testing.T, file string) (rows []map[string]string) {
	f, err := os.Open(file)
	require.NoError(t, err)
	defer f.Close()
	all, err := csv.NewReader(f).ReadAll()
	require.NoError(t, err)
	for _, cells := range all[1:] {
		row := map[string]string{}
		for i, name := range all[0] {
			row[name] = cells[i]
		}
		rows = append(rows, row)
	}
	return rows
}

func TestTheDemonstrationHasAPastThatItsOwnReadersBelieve(t *testing.T) {
	site, err := config.Parse("demo.toml", configs.Demo)
	require.NoError(t, err)
	dir := filepath.Join(t.TempDir(), "data")
	site.Data = dir
	const weeks = 2 // as eight are, in less time
	now := time.Now()
	var said strings.Builder
	evenings, err := inventPast(t.Context(), &said, site, pastPlan{pastEvenings(now.In(site.Zone), weeks), zap.NewNop()})
	require.NoError(t, err)
	require.GreaterOrEqual(t, evenings, 3*weeks)
	require.Contains(t, said.String(), fmt.Sprintf("5 of %d evenings are written.\n", evenings), "a wait is not silent")
	verified := say(t, "verify", "--data", dir)
	require.Equal(t, exitDone, verified.code, verified.errs)

	out := filepath.Join(t.TempDir(), "report")
	got := say(t, "report", "--data", dir, "--from", now.AddDate(0, 0, -7*weeks-7).Format(time.DateOnly), "--to",
		now.Format(time.DateOnly), "--out", out)
	require.Equal(t, exitDone, got.code, got.errs)
	sessions := table(t, filepath.Join(out, "sessions.csv"))
	require.Len(t, sessions, evenings)
	look := 0
	for _, s := range sessions {
		uncovered, err := strconv.ParseFloat(s["uncovered_s"], 64)
		require.NoError(t, err)
		require.InDelta(t, 161*60, uncovered, 60, "%v", s)
		if s["unproven_s"] != "0" {
			look++
		}
	}
	require.Equal(t, 2, look, "two evenings need a look")
	for _, alarm := range table(t, filepath.Join(out, "alarms.csv")) {
		require.NotEmpty(t, alarm["answered_by"], "%v", alarm)
	}

	reader, err := history.OpenReader(t.Context(), history.Options{Dir: dir})
	require.NoError(t, err)
	defer reader.Close()
	kinds := map[string]int{}
	for r, err := range reader.EachRecord(t.Context(), history.Query{}) {
		require.NoError(t, err)
		require.True(t, json.Valid(r.Content) || len(r.Content) == 0)
		kinds[r.Kind]++
	}
	for _, kind := range []string{"commissioned", "probe checked", "duty done", "test done", "batch mixed", "returned", "alarm acknowledged"} {
		require.Positive(t, kinds[kind], "%s among %v", kind, kinds)
	}

	before := say(t, "verify", "--data", dir).out
	_, err = (&demoCmd{}).invent(t.Context(), io.Discard, site, zap.NewNop())
	require.NoError(t, err)
	require.Equal(t, before, say(t, "verify", "--data", dir).out, "a past is invented once")
}
