package daemon

import (
	"context"
	"os"
	"path/filepath"
	"testing"
	"time"

	"github.com/stretchr/testify/require"
	"go.uber.org/zap"

	"wetside/daemon/config"
	"wetside/daemon/history"
	"wetside/sensors/clocktest"
)

func newCopying(t *testing.T, c config.Backup) (*backups, *clocktest.Manual) {
	t.Helper()
	clock := clocktest.New(time.Date(2026, 10, 14, 17, 0, 0, 0, time.UTC))
	store, err := history.Open(t.Context(), history.Options{Dir: t.TempDir(), Clock: clock, Zone: time.UTC, Version: "test"})
	require.NoError(t, err)
	t.Cleanup(func() { require.NoError(t, store.Close()) })
	s := &site{clock: clock, store: store}
	s.swap(config.Config{Backup: c}, nil)
	b, err := newBackups(t.Context(), s, zap.NewNop())
	require.NoError(t, err)
	return b, clock
}

func TestCopiesAreDueAfterTheirIntervalAndAnHourAfterAFailedOne(t *testing.T) {
	folder := filepath.Join(t.TempDir(), "disk")
	b, clock := newCopying(t, config.Backup{Folder: folder, Every: 24 * time.Hour, Keep: 2})
	require.True(t, b.due(), "nothing was copied yet")
	require.Error(t, b.make(t.Context(), ""), "the disk is not there")
	require.False(t, b.due())
	require.NotEmpty(t, b.shown.Load().problem)
	clock.Advance(61 * time.Minute)
	require.True(t, b.due())
	require.NoError(t, os.Mkdir(folder, 0o755))
	require.NoError(t, b.make(t.Context(), ""))
	require.Empty(t, b.shown.Load().problem)
	clock.Advance(23 * time.Hour)
	require.False(t, b.due())
	clock.Advance(time.Hour)
	require.True(t, b.due())
}

func TestOnlyOurOwnOldestCopiesAreRemovedAndEachCopyIsWhole(t *testing.T) {
	folder := t.TempDir()
	require.NoError(t, os.WriteFile(filepath.Join(folder, "wetside-keep-me.db"), nil, 0o644))
	b, clock := newCopying(t, config.Backup{Folder: folder, Every: time.Hour, Keep: 2})
	for range 4 {
		require.NoError(t, b.make(t.Context(), "Ida"))
		clock.Advance(time.Hour)
	}
	left, err := filepath.Glob(filepath.Join(folder, "*"))
	require.NoError(t, err)
	require.Equal(t, []string{filepath.Join(folder, "wetside-20261014-190000.db"), filepath.Join(folder, "wetside-20261014-200000.db"),
		filepath.Join(folder, "wetside-keep-me.db")}, left)
	require.Equal(t, left[1], b.shown.Load().last.File)

	_, err = history.Restore(t.Context(), left[1], t.TempDir())
	require.NoError(t, err)
	again, err := newBackups(t.Context(), b.site, zap.NewNop())
	require.NoError(t, err)
	require.Equal(t, b.shown.Load().last, again.shown.Load().last, "the newest copy is known again after a start")
}

func TestWithoutAFolderNothingIsCopiedAndAPressSaysHow(t *testing.T) {
	b, _ := newCopying(t, config.Backup{})
	require.False(t, b.due())
	ctx, stop := context.WithCancel(t.Context())
	done := make(chan struct{})
	go func() { b.run(ctx); close(done) }()
	require.ErrorContains(t, b.ask(ctx, "Ida"), "[backup] table")
	stop()
	<-done
	require.ErrorContains(t, b.ask(ctx, "Ida"), "look again in a minute")
}

func TestABackupThatTheBookDoesNotContinueStaysAndIsTold(t *testing.T) {
	folder := t.TempDir()
	other, _ := newCopying(t, config.Backup{Folder: folder, Every: time.Hour, Keep: 1})
	_, err := other.site.store.Record(t.Context(), history.Entry{Kind: "note", Person: "Ida", Content: []byte(`{"text":"of another past"}`)})
	require.NoError(t, err)
	require.NoError(t, other.make(t.Context(), "Ida"))
	apart := filepath.Base(other.shown.Load().last.File)

	b, clock := newCopying(t, config.Backup{Folder: folder, Every: time.Hour, Keep: 1})
	for range 3 {
		clock.Advance(time.Hour)
		require.NoError(t, b.make(t.Context(), ""))
	}
	require.FileExists(t, filepath.Join(folder, apart), "what disagrees is evidence")
	left, err := filepath.Glob(filepath.Join(folder, "*"))
	require.NoError(t, err)
	require.Len(t, left, 2)
	require.ErrorContains(t, keeping{site: b.site, backups: b, faults: newFaults()}.System().BackupProblem,
		"no longer agrees with the older backup "+apart)
	require.False(t, b.due(), "the copy itself was made")

	require.NoError(t, os.Rename(filepath.Join(folder, apart), filepath.Join(t.TempDir(), apart)))
	clock.Advance(time.Hour)
	require.NoError(t, b.make(t.Context(), ""))
	require.NoError(t, keeping{site: b.site, backups: b, faults: newFaults()}.System().BackupProblem,
		"what was explained and moved away is over")
}

func TestTwoBackupsInOneSecondAreTwoFiles(t *testing.T) {
	folder := t.TempDir()
	b, _ := newCopying(t, config.Backup{Folder: folder, Every: time.Hour, Keep: 5})
	for range 2 {
		require.NoError(t, b.make(t.Context(), "Ida"))
	}
	left, err := filepath.Glob(filepath.Join(folder, "*.db"))
	require.NoError(t, err)
	require.Len(t, left, 2)
}
