package history_test

import (
	"database/sql"
	"encoding/json"
	"errors"
	"os"
	"path/filepath"
	"strings"
	"sync"
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"wetside/daemon/history"
	"wetside/daemon/history/book"
	"wetside/sensors"
)

// kept opens a history with some records and gives its folder.
func kept(t *testing.T) (*history.Store, string, history.Options) {
	t.Helper()
	o := history.Options{Dir: t.TempDir(), Clock: sensors.NewSystemClock(1), Zone: time.UTC}
	s, err := history.Open(t.Context(), o)
	require.NoError(t, err)
	recordSome(t, s, 3)
	return s, filepath.Join(o.Dir, "wetside.db"), o
}

func recordSome(t *testing.T, s *history.Store, n int) {
	t.Helper()
	for range n {
		_, err := s.Record(t.Context(), history.Entry{Kind: "invented"})
		require.NoError(t, err)
	}
}

func TestNothingIsAcknowledgedOnceTheFileIsNotOurs(t *testing.T) {
	other := func(t *testing.T, path string) {
		require.NoError(t, os.Rename(path, path+".away"))
		require.NoError(t, os.WriteFile(path, make([]byte, 1<<20), 0o640))
	}
	for name, harm := range map[string]func(t *testing.T, path string){
		"removed":         func(t *testing.T, path string) { require.NoError(t, os.Remove(path)) },
		"replaced":        other,
		"the log removed": func(t *testing.T, path string) { require.NoError(t, os.Remove(path+"-wal")) },
		"emptied":         func(t *testing.T, path string) { require.NoError(t, os.Truncate(path, 0)) },
	} {
		t.Run(name, func(t *testing.T) {
			s, path, _ := kept(t)
			defer func() { require.Error(t, s.Close()) }()
			harm(t, path)
			_, err := s.Record(t.Context(), history.Entry{Kind: "invented"})
			require.ErrorIs(t, err, history.ErrGone)
			require.ErrorIs(t, err, history.ErrWrite)
			require.ErrorContains(t, err, "put the file back or restore the last backup")
			require.False(t, s.Health().Writable)
		})
	}
}

func TestAFileThatGoesIsNoticedWithinSecondsWithoutAnybodyWriting(t *testing.T) {
	s, path, _ := kept(t)
	require.NoError(t, os.Rename(path, path+".away"))
	require.Eventually(t, func() bool { return !s.Health().Writable }, 5*time.Second, 20*time.Millisecond)
	require.Contains(t, s.Health().Problem, "removed or replaced while wetside ran")
	require.NoError(t, os.Rename(path+".away", path))
	require.Eventually(t, func() bool { return s.Health().Writable }, 5*time.Second, 20*time.Millisecond,
		"back in its place the file is ours again")
	recordSome(t, s, 1)
	require.NoError(t, s.Close())
}

// The engine deletes the log beside an empty file, and with it what is not yet in the history.
func TestNobodyMakesAFileInThePlaceOfAHistoryThatWasMovedAway(t *testing.T) {
	s, path, _ := kept(t)
	require.NoError(t, os.Rename(path, path+".away"))
	var reading sync.WaitGroup
	for range 16 { // more than there are connections yet
		reading.Go(func() { _, _ = s.Records(t.Context(), history.Query{}) })
	}
	reading.Wait()
	require.NoFileExists(t, path)
	require.FileExists(t, path+"-wal")
	require.NoError(t, os.Rename(path+".away", path))
	require.NoError(t, s.Close())
}

// left gives the folder of a history that a killed program left: nothing was closed.
func left(t *testing.T) (dir string, o history.Options) {
	t.Helper()
	s, path, o := kept(t)
	dir = t.TempDir()
	require.Eventually(t, func() bool {
		mark, err := os.ReadFile(filepath.Join(o.Dir, "wetside.mark"))
		return err == nil && strings.Contains(string(mark), `"number":5`) // opened, started and three more
	}, 5*time.Second, 10*time.Millisecond)
	for _, name := range []string{"wetside.db", "wetside.db-wal", "wetside.mark"} {
		text, err := os.ReadFile(filepath.Join(filepath.Dir(path), name))
		require.NoError(t, err)
		require.NoError(t, os.WriteFile(filepath.Join(dir, name), text, 0o640))
	}
	require.NoError(t, s.Close())
	o.Dir = dir
	return dir, o
}

func TestAStartOnLessThanTheLastRunLeftIsRefused(t *testing.T) {
	_, whole := left(t)
	s, err := history.Open(t.Context(), whole)
	require.NoError(t, err, "what a kill leaves is whole")
	require.NoError(t, s.Close())
	s, err = history.Open(t.Context(), whole)
	require.NoError(t, err, "and so is what a stop leaves")
	require.NoError(t, s.Close())

	for name, harm := range map[string]func(t *testing.T, path string){
		"removed": func(t *testing.T, path string) {
			require.NoError(t, os.Remove(path))
			require.NoError(t, os.Remove(path+"-wal"))
		},
		"emptied": func(t *testing.T, path string) {
			require.NoError(t, os.Truncate(path, 0))
			require.NoError(t, os.Remove(path+"-wal"))
		},
		"without its log": func(t *testing.T, path string) { require.NoError(t, os.Remove(path+"-wal")) },
		"its log emptied": func(t *testing.T, path string) { require.NoError(t, os.Truncate(path+"-wal", 0)) },
		"another book": func(t *testing.T, path string) {
			other, from, _ := kept(t)
			recordSome(t, other, 5)
			require.NoError(t, other.Close())
			text, err := os.ReadFile(from)
			require.NoError(t, err)
			require.NoError(t, os.WriteFile(path, text, 0o640))
			require.NoError(t, os.Remove(path+"-wal"))
		},
	} {
		t.Run(name, func(t *testing.T) {
			dir, o := left(t)
			path := filepath.Join(dir, "wetside.db")
			harm(t, path)
			_, err := history.Open(t.Context(), o)
			require.ErrorIs(t, err, history.ErrLess)
			require.ErrorContains(t, err, "wetside restore")
			require.NoError(t, os.Remove(filepath.Join(dir, "wetside.mark")))
			s, err := history.Open(t.Context(), o)
			require.NoError(t, err, "deliberately, somebody may go on")
			require.NoError(t, s.Close())
		})
	}
}

func TestABackupIsTakenInThePlaceOfALongerHistory(t *testing.T) {
	s, path, o := kept(t)
	backup := filepath.Join(t.TempDir(), "backup.db")
	last, err := s.Backup(t.Context(), backup)
	require.NoError(t, err)
	recordSome(t, s, 20)
	require.NoError(t, s.Close())
	require.NoError(t, os.Rename(path, path+".old"))
	restored, err := history.Restore(t.Context(), backup, o.Dir)
	require.NoError(t, err)
	require.Equal(t, last, restored)
	for range 3 {
		s, err = history.Open(t.Context(), o)
		require.NoError(t, err)
		require.NoError(t, s.CheckBook())
		require.NoError(t, s.Close())
	}
}

func TestALogOfAnotherHistoryBesideABackupIsRefused(t *testing.T) {
	s, _, _ := kept(t)
	backup := filepath.Join(t.TempDir(), "backup.db")
	_, err := s.Backup(t.Context(), backup)
	require.NoError(t, err)
	require.NoError(t, s.Close())
	dir, o := left(t)
	text, err := os.ReadFile(backup)
	require.NoError(t, err)
	path := filepath.Join(dir, "wetside.db")
	require.NoError(t, os.WriteFile(path, text, 0o640))
	_, err = history.Open(t.Context(), o)
	require.ErrorContains(t, err, "move wetside.db-wal and wetside.db-shm away")
	require.NoError(t, os.Remove(path))
	_, err = history.Restore(t.Context(), backup, dir)
	require.ErrorContains(t, err, "move wetside.db-wal away first")
}

// tampering changes the book of an open history as somebody with the file could.
func tampering(t *testing.T, path, query string) {
	t.Helper()
	db, err := sql.Open("sqlite", path)
	require.NoError(t, err)
	_, err = db.Exec("PRAGMA busy_timeout = 5000; DROP TRIGGER record_is_never_changed; DROP TRIGGER record_is_never_deleted; " + query)
	require.NoError(t, errors.Join(err, db.Close()))
}

func TestTheBookIsCheckedWhileTheProgramRuns(t *testing.T) {
	for name, of := range map[string]struct{ query, why string }{
		"a record was changed": {"UPDATE record SET body = replace(body, 'invented', 'rewritten') WHERE number = 4",
			"record 4 fails verification"},
		"a record was removed": {"DELETE FROM record WHERE number = 4",
			"record 4 fails verification"},
		"the end of the book was": {"DELETE FROM record WHERE number > 3", "record 4 fails verification: the record is missing"},
	} {
		t.Run(name, func(t *testing.T) {
			s, path, _ := kept(t)
			require.NoError(t, s.CheckBook())
			require.Empty(t, s.Health().Broken)
			tampering(t, path, of.query)
			broken := &book.Broken{}
			require.ErrorAs(t, s.CheckBook(), &broken)
			require.Contains(t, s.Health().Broken, of.why)
			_, told := s.Trouble()
			require.Equal(t, s.Health().Broken, told)
			_ = s.Close() // a book that lost its end refuses the record of the stop
		})
	}
}

func TestACheckpointInTheBookItselfIsHeldAgainstTheBook(t *testing.T) {
	s, path, o := kept(t)
	last, err := s.Backup(t.Context(), filepath.Join(t.TempDir(), "backup.db"))
	require.NoError(t, err)
	note := func(c book.Checkpoint) {
		_, err := s.Record(t.Context(), history.Entry{Kind: "backup made", Content: json.RawMessage(`{"checkpoint":"` + c.String() + `"}`)})
		require.NoError(t, err)
	}
	note(last)
	require.NoError(t, s.CheckBook())
	last.Hash = strings.Repeat("0", len(last.Hash))
	note(last)
	require.ErrorContains(t, s.CheckBook(), "names the checkpoint")
	require.NoError(t, s.Close())
	require.FileExists(t, path)
	s, err = history.Open(t.Context(), o)
	require.NoError(t, err)
	require.ErrorContains(t, s.CheckBook(), "names the checkpoint", "as long as the book says so")
	require.NoError(t, s.Close())
}

func TestAStartChecksTheRecordsSinceTheMarkByItself(t *testing.T) {
	dir, o := left(t)
	db := filepath.Join(dir, "wetside.db")
	mark, err := os.ReadFile(filepath.Join(dir, "wetside.mark"))
	require.NoError(t, err)
	s, err := history.Open(t.Context(), o)
	require.NoError(t, err)
	recordSome(t, s, 3)
	require.NoError(t, s.Close())
	tampering(t, db, "UPDATE record SET body = replace(body, 'invented', 'rewritten') WHERE number = 8")
	require.NoError(t, os.WriteFile(filepath.Join(dir, "wetside.mark"), []byte(strings.Replace(string(mark), `,"log":true`, "", 1)), 0o640))
	s, err = history.Open(t.Context(), o)
	require.NoError(t, err)
	require.Eventually(t, func() bool { return s.Health().Broken != "" }, 5*time.Second, 10*time.Millisecond)
	require.Contains(t, s.Health().Broken, "record 8 fails verification")
	require.NoError(t, s.Close())
}
