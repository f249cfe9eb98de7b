package history_test

import (
	"bytes"
	"errors"
	"os"
	"path/filepath"
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"wetside/daemon/history"
)

func TestAReaderSeesWhatARunningStoreWrites(t *testing.T) {
	clock := newHandClock(evening())
	dir := t.TempDir()
	s := open(t, dir, clock)
	want := fill(t, s, clock, 2000)
	r, err := history.OpenReader(t.Context(), history.Options{Dir: dir, Clock: clock, Zone: time.UTC})
	require.NoError(t, err)
	defer func() { require.NoError(t, r.Close()) }()
	var seen []history.Sample
	for sample, err := range r.Samples(t.Context(), want[0].Channel, evening(), clock.Now().Wall) {
		require.NoError(t, err)
		seen = append(seen, sample)
	}
	require.NotEmpty(t, seen)
	before, err := r.Records(t.Context(), history.Query{})
	require.NoError(t, err)
	_, err = s.Record(t.Context(), history.Entry{Kind: "note"})
	require.NoError(t, err)
	after, err := r.Records(t.Context(), history.Query{})
	require.NoError(t, err)
	require.Len(t, after, len(before)+1, "a record is seen as soon as it is written")
	channels, err := r.Channels(t.Context())
	require.NoError(t, err)
	require.Equal(t, want[0].Channel, channels[0].ID)
	require.True(t, channels[0].InService)
	require.Equal(t, 15*time.Second, channels[0].Silence)
}

func TestAReaderRefusesWhatIsNoHistory(t *testing.T) {
	dir := t.TempDir()
	_, err := history.OpenReader(t.Context(), history.Options{Dir: dir})
	require.ErrorIs(t, err, history.ErrRead)
	require.NoFileExists(t, filepath.Join(dir, "wetside.db"), "reading makes no file")
	require.NoError(t, os.WriteFile(filepath.Join(dir, "wetside.db"), []byte("this is no database, whatever its name says"), 0o600))
	_, err = history.OpenReader(t.Context(), history.Options{Dir: dir})
	require.ErrorIs(t, err, history.ErrCorrupt)
	_, err = history.OpenReader(t.Context(), history.Options{Dir: filepath.Join(dir, "wetside.db")})
	require.ErrorContains(t, err, "is a file: name the folder")
}

func TestARestoredBackupSaysSoInTheBook(t *testing.T) {
	clock := newHandClock(evening())
	dir, other := t.TempDir(), t.TempDir()
	s := open(t, dir, clock)
	fill(t, s, clock, 100)
	backup := filepath.Join(other, "backup.db")
	at, err := s.Backup(t.Context(), backup)
	require.NoError(t, err)

	_, err = history.Restore(t.Context(), backup, dir)
	require.ErrorIs(t, err, history.ErrCopy, "a folder that holds a history is left alone")
	place := filepath.Join(other, "new")
	got, err := history.Restore(t.Context(), backup, place)
	require.NoError(t, err)
	require.Equal(t, at, got)

	clock.pass(time.Hour)
	restored := open(t, place, clock)
	records, err := restored.Records(t.Context(), history.Query{AfterNumber: at.Number})
	require.NoError(t, err)
	require.Equal(t, history.KindRestored, records[0].Kind)
	require.Contains(t, string(records[0].Content), at.Hash)
	require.Equal(t, history.KindStarted, records[1].Kind)
	channels, err := restored.Channels(t.Context())
	require.NoError(t, err)
	gaps, err := restored.Gaps(t.Context(), channels[0].ID, evening(), clock.Now().Wall)
	require.NoError(t, err)
	require.Equal(t, history.CauseNotInBackup, gaps[len(gaps)-1].Cause)
	require.NoError(t, restored.Close())

	again := open(t, place, clock)
	records, err = again.Records(t.Context(), history.Query{Kinds: []string{history.KindRestored}})
	require.NoError(t, err)
	require.Len(t, records, 1, "it is said once")
}

// backedUp makes a backup of a filled history in its folder, and reads it.
func backedUp(t *testing.T, dir string, clock *handClock, samples int) (path string, whole []byte) {
	t.Helper()
	s := open(t, dir, clock)
	fill(t, s, clock, samples)
	path = filepath.Join(dir, "backup.db")
	_, err := s.Backup(t.Context(), path)
	require.NoError(t, err)
	whole, err = os.ReadFile(path)
	require.NoError(t, err)
	return path, whole
}

// TestAChangedByteOfABackupIsFoundWhereverItIs changes bytes anywhere, in readings of the last minutes, which no record
// attests, and in free space alike. What was restored, or put in place by hand, has no seal to break.
func TestAChangedByteOfABackupIsFoundWhereverItIs(t *testing.T) {
	clock := newHandClock(evening())
	dir := t.TempDir()
	backup, whole := backedUp(t, dir, clock, 1000)
	place := t.TempDir()
	byHand := filepath.Join(place, history.FileName)
	for at := 0; at < len(whole); at += 997 {
		file := bytes.Clone(whole)
		file[at] ^= 0x10
		require.NoError(t, os.WriteFile(byHand, file, 0o600))
		report, err := history.Verify(t.Context(), place)
		require.Error(t, errors.Join(err, report.Err()), "byte %d", at)
	}
	require.NoError(t, os.WriteFile(byHand, whole, 0o600))
	for _, dir := range []string{place, filepath.Join(dir, "new")} {
		if dir != place {
			_, err := history.Restore(t.Context(), backup, dir)
			require.NoError(t, err)
		}
		for range 2 {
			report, err := history.Verify(t.Context(), dir)
			require.NoError(t, errors.Join(err, report.Err()))
			again := open(t, dir, clock)
			fill(t, again, clock, 100)
			require.NoError(t, again.Close())
		}
	}
}

func TestATamperedBackupIsNotRestored(t *testing.T) {
	dir := t.TempDir()
	backup, data := backedUp(t, dir, newHandClock(evening()), 100)
	at := bytes.Index(data, []byte(`"kind":"started"`))
	require.Positive(t, at)
	data[at+len(`"kind":"s`)] = 'x'
	require.NoError(t, os.WriteFile(backup, data, 0o600))
	place := filepath.Join(dir, "new")
	_, err := history.Restore(t.Context(), backup, place)
	require.ErrorContains(t, err, "nothing was restored")
	require.NoFileExists(t, filepath.Join(place, "wetside.db"))
}
