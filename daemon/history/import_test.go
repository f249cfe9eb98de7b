package history_test

import (
	"database/sql"
	"path/filepath"
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"wetside/daemon/history"
	"wetside/sensors"
	"wetside/sensors/quantity"
)

// importing hands samples over, a second apart from a time on.
func importing(from time.Time, n int) history.Import {
	return history.Import{Entry: history.Entry{Person: "A. Keeper"}, Samples: func(yield func(history.Sample, error) bool) {
		for i := range n {
			if !yield(good(from.Add(time.Duration(i)*time.Second), 30), nil) {
				return
			}
		}
	}}
}

func TestImportedSamplesAreMarkedInEveryView(t *testing.T) {
	dir, clock := t.TempDir(), newHandClock(evening())
	s := open(t, dir, clock)
	live := fill(t, s, clock, 1800)
	from := evening().Add(-24 * time.Hour)
	_, err := s.Import(t.Context(), importing(from, 10_000))
	require.NoError(t, err)
	look := func(when string) {
		samples := all(t, s, from, clock.Now().Wall)
		require.Len(t, samples, 11_800, when)
		for i, x := range samples {
			require.Equal(t, i < 10_000, x.Imported, when)
		}
		for _, points := range []int{20_000, 400, 3} {
			series, err := s.Series(t.Context(), history.SeriesQuery{Channel: "tray", From: from, To: clock.Now().Wall, Points: points})
			require.NoError(t, err)
			for _, c := range series.Columns {
				require.Equal(t, c.From.Before(evening().Add(-20*time.Hour)), c.Imported, when)
				require.True(t, !c.Imported || c.Covered == 0, "an imported value stands for no time")
			}
		}
		n := 0
		for run, err := range s.Runs(t.Context(), history.RunQuery{Channel: "tray", From: from, To: clock.Now().Wall, Pause: time.Minute}) {
			require.NoError(t, err)
			require.Equal(t, n == 0, run.Imported)
			n++
		}
		require.Equal(t, 2, n, when)
	}
	look("before it is sealed")
	s.Settle(t.Context())
	look("sealed")
	require.NoError(t, s.Close())
	s = open(t, dir, clock)
	look("opened again")
	require.Equal(t, live, all(t, s, evening(), clock.Now().Wall), "what the probe gave is as it was")
}

func TestAnImportThatFailsLeavesNothingBehind(t *testing.T) {
	clock := newHandClock(evening())
	s := open(t, t.TempDir(), clock)
	bad := importing(evening().Add(-time.Hour), 10_000)
	samples := bad.Samples
	bad.Samples = func(yield func(history.Sample, error) bool) {
		for x := range samples {
			if !yield(x, nil) {
				return
			}
		}
		yield(history.Sample{}, history.ErrBadSample)
	}
	bad.Channels = []sensors.Channel{bath(t, "old")}
	_, err := s.Import(t.Context(), bad)
	require.ErrorIs(t, err, history.ErrBadSample)
	require.Empty(t, all(t, s, evening().Add(-2*time.Hour), evening()))
	records, err := s.Records(t.Context(), history.Query{Kinds: []string{history.KindImported}})
	require.NoError(t, err)
	require.Empty(t, records)
	want := fill(t, s, clock, 10)
	require.Equal(t, want, all(t, s, evening(), clock.Now().Wall), "the next turn goes on")
	_, err = s.Import(t.Context(), history.Import{Channels: []sensors.Channel{bath(t, "tray")}})
	require.ErrorContains(t, err, "is known already")
}

func TestOnlyImportedSamplesStillHoldTheirUnit(t *testing.T) {
	s := open(t, t.TempDir(), newHandClock(evening()))
	_, err := s.Import(t.Context(), importing(evening().Add(-time.Minute), 10))
	require.NoError(t, err)
	other := bath(t, "tray")
	other.Unit, err = quantity.ParseUnit("F")
	require.NoError(t, err)
	require.ErrorIs(t, s.RegisterChannels(t.Context(), "wet", []sensors.Channel{other}), history.ErrUnitChanged)
}

// TestAFileGivesBackWhatAnImportNeeded imports two days, which wait in the order of arrival until they are packed.
func TestAFileGivesBackWhatAnImportNeeded(t *testing.T) {
	dir, clock := t.TempDir(), newHandClock(evening())
	s := open(t, dir, clock)
	fill(t, s, clock, 1800)
	from := evening().AddDate(0, 0, -3)
	_, err := s.Import(t.Context(), importing(from, 170_000))
	require.NoError(t, err)
	s.Settle(t.Context())
	require.ErrorIs(t, history.Shrink(t.Context(), dir), history.ErrLocked, "somebody may be writing")
	require.NoError(t, s.Close())
	require.Greater(t, freePages(t, dir), 0.5)
	require.NoError(t, history.Shrink(t.Context(), dir))
	require.Zero(t, freePages(t, dir))
	require.NoFileExists(t, filepath.Join(dir, "wetside.db-wal"), "what was written is in the file")
	requireVerified(t, dir)
	s = open(t, dir, clock)
	require.Len(t, all(t, s, from, clock.Now().Wall), 171_800)
	require.NoError(t, s.Close())
}

// freePages is which part of the pages of a history holds nothing.
func freePages(t testing.TB, dir string) (part float64) {
	db, err := sql.Open("sqlite", filepath.Join(dir, "wetside.db"))
	require.NoError(t, err)
	defer db.Close()
	require.NoError(t, db.QueryRow("SELECT 1.0 * freelist_count / page_count FROM pragma_page_count, pragma_freelist_count").Scan(&part))
	return part
}
