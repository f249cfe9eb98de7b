package history_test

import (
	"database/sql"
	"os"
	"path/filepath"
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"wetside/daemon/history"
)

func TestASecondInstanceIsRefused(t *testing.T) {
	dir := t.TempDir()
	clock := newHandClock(evening())
	s := open(t, dir, clock)
	_, err := history.Open(t.Context(), options(dir, clock))
	require.ErrorIs(t, err, history.ErrLocked)
	require.ErrorContains(t, err, dir)
	require.NoError(t, s.Close())
	require.NoError(t, open(t, dir, clock).Close())
}

func TestAfterCloseEverythingSaysSo(t *testing.T) {
	s := open(t, t.TempDir(), newHandClock(evening()))
	require.NoError(t, s.Close())
	require.NoError(t, s.Close())
	require.ErrorIs(t, s.Append(t.Context(), history.Batch{Samples: []history.Sample{good(evening(), 20)}}), history.ErrClosed)
	_, err := s.Record(t.Context(), history.Entry{Kind: "form"})
	require.ErrorIs(t, err, history.ErrClosed)
}

// change runs SQL on the file of a closed history.
func change(t *testing.T, dir, query string) {
	t.Helper()
	db, err := sql.Open("sqlite", filepath.Join(dir, "wetside.db"))
	require.NoError(t, err)
	_, err = db.Exec(query)
	require.NoError(t, err)
	require.NoError(t, db.Close())
}

// closed makes a history with half an hour of samples and closes it.
func closed(t *testing.T) (dir string, clock *handClock) {
	t.Helper()
	dir, clock = t.TempDir(), newHandClock(evening())
	s := open(t, dir, clock)
	fill(t, s, clock, 1800)
	require.NoError(t, s.Close())
	return dir, clock
}

func TestWhatCannotBeOpenedIsNamedAndLeftAlone(t *testing.T) {
	for name, c := range map[string]struct {
		spoil func(t *testing.T, dir string)
		want  error
	}{
		"newer form":      {func(t *testing.T, dir string) { change(t, dir, "PRAGMA user_version = 999") }, history.ErrNewer},
		"impossible form": {func(t *testing.T, dir string) { change(t, dir, "PRAGMA user_version = -2147483647") }, history.ErrCorrupt},
		"of another program": {func(t *testing.T, dir string) {
			change(t, dir, "PRAGMA application_id = 1")
		}, history.ErrCorrupt},
		"no database": {func(t *testing.T, dir string) {
			require.NoError(t, os.WriteFile(filepath.Join(dir, "wetside.db"), make([]byte, 8192), 0o600))
		}, history.ErrCorrupt},
		"cut short": {func(t *testing.T, dir string) {
			path := filepath.Join(dir, "wetside.db")
			info, err := os.Stat(path)
			require.NoError(t, err)
			require.NoError(t, os.Truncate(path, info.Size()/2))
		}, history.ErrCorrupt},
	} {
		t.Run(name, func(t *testing.T) {
			dir, clock := closed(t)
			c.spoil(t, dir)
			before, err := os.ReadFile(filepath.Join(dir, "wetside.db"))
			require.NoError(t, err)
			_, err = history.Open(t.Context(), options(dir, clock))
			require.ErrorIs(t, err, c.want)
			require.ErrorContains(t, err, filepath.Join(dir, "wetside.db"))
			after, err := os.ReadFile(filepath.Join(dir, "wetside.db"))
			require.NoError(t, err)
			require.Equal(t, before, after)
		})
	}
}

func TestAFullDiskIsToldAndWritingResumes(t *testing.T) {
	clock := newHandClock(evening())
	s := open(t, t.TempDir(), clock)
	kept := fill(t, s, clock, 10)
	require.NoError(t, history.Pragma(s, "max_page_count = 1")) // SQLite takes the present size
	refusedFrom := clock.Now().Wall
	err := appendUntilRefused(t, s, clock)
	require.ErrorIs(t, err, history.ErrWrite)
	require.ErrorContains(t, err, "disk is full")
	_, err = s.Record(t.Context(), history.Entry{Kind: "form", Content: []byte(`"` + string(make40k()) + `"`)})
	require.ErrorIs(t, err, history.ErrWrite)
	h := s.Health()
	require.False(t, h.Writable)
	require.Contains(t, h.Problem, "disk is full")

	require.NoError(t, history.Pragma(s, "max_page_count = 1000000"))
	require.Eventually(t, func() bool { return s.Health().Writable }, 10*time.Second, 10*time.Millisecond,
		"the history tries again by itself")
	back := clock.Now().Wall
	again := fill(t, s, clock, 3)
	gaps, err := s.Gaps(t.Context(), "tray", refusedFrom, clock.Now().Wall)
	require.NoError(t, err)
	require.Len(t, gaps, 1)
	require.Equal(t, history.CauseNotWritten, gaps[0].Cause)
	require.Equal(t, back, gaps[0].To)
	stored := all(t, s, evening(), clock.Now().Wall)
	require.Subset(t, stored, kept)
	require.Subset(t, stored, again)
	for _, sample := range stored {
		require.False(t, !sample.At.Before(gaps[0].From) && sample.At.Before(gaps[0].To), "a refused sample is stored")
	}
}

func make40k() []byte {
	text := make([]byte, 40_000)
	for i := range text {
		text[i] = 'x'
	}
	return text
}

func appendUntilRefused(t *testing.T, s *history.Store, clock *handClock) error {
	t.Helper()
	for range 1000 {
		samples := make([]history.Sample, 100)
		for i := range samples {
			samples[i] = good(clock.Now().Wall, 21)
			clock.pass(10 * time.Millisecond)
		}
		if err := s.Append(t.Context(), history.Batch{Samples: samples}); err != nil {
			return err
		}
	}
	return nil
}

func TestABatchOfAnUnknownChannelLeavesTheOthersAlone(t *testing.T) {
	clock := newHandClock(evening())
	s := open(t, t.TempDir(), clock)
	bad := history.Batch{Samples: []history.Sample{good(evening(), 20), {Channel: "nowhere", At: evening()}}}
	require.ErrorIs(t, s.Append(t.Context(), bad), history.ErrUnknownChannel)
	require.True(t, s.Health().Writable)
	want := fill(t, s, clock, 3)
	require.Equal(t, want, all(t, s, evening(), clock.Now().Wall))
	_, err := s.Series(t.Context(), history.SeriesQuery{Channel: "nowhere", From: evening(), To: clock.Now().Wall})
	require.ErrorIs(t, err, history.ErrUnknownChannel)
}

func TestABackupIsWholeAndNeverOverwrites(t *testing.T) {
	clock := newHandClock(evening())
	s := open(t, t.TempDir(), clock)
	want := fill(t, s, clock, 2000)
	copyDir := t.TempDir()
	path := filepath.Join(copyDir, "wetside.db")
	_, err := s.Backup(t.Context(), path)
	require.NoError(t, err)
	_, err = s.Backup(t.Context(), path)
	require.ErrorIs(t, err, history.ErrCopy)
	restored := open(t, copyDir, clock)
	require.Equal(t, want, all(t, restored, evening(), clock.Now().Wall))
}
