package daemon_test

import (
	"fmt"
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"wetside/daemon/history"
	"wetside/daemon/history/disktest"
	"wetside/rules"
	"wetside/sensors"
)

// onBadDisk is a large room on wires that speak ten times a second, over a disk that a test breaks.
func onBadDisk(t *testing.T) (r *wired, disk *disktest.Disk, dir string) {
	dir = t.TempDir()
	disk = disktest.On(t, dir, 1)
	r = startWired(t, wiredOptions{rooms: 1, lines: 8, channels: 8, dir: dir})
	r.talk(100 * time.Millisecond)
	require.Less(t, r.late(), 5*time.Second)
	return r, disk, dir
}

// complained enters a complaint and says how long that took.
func (r *wired) complained(what string) (time.Duration, error) {
	began := time.Now()
	_, err := r.daemon.Do(r.ctx, rules.Command{Room: "room-0", Person: "invented volunteer", Act: rules.ReportComplaint{What: what}})
	return time.Since(began), err
}

func TestASlowDiskHoldsUpNeitherReadingsNorForms(t *testing.T) {
	r, disk, _ := onBadDisk(t)
	disk.Break(disktest.Fault{Op: disktest.Sync, Delay: 500 * time.Millisecond})
	for n := range 2 {
		took, err := r.complained(fmt.Sprint(n))
		require.NoError(t, err)
		require.Greater(t, took, 400*time.Millisecond, "an answer waits for the disk")
	}
	require.Less(t, r.late(), time.Second, "a reading does not")
	require.True(t, r.daemon.Now().Rooms[0].History.Kept, "late for a moment is no news")
	require.Positive(t, disk.Mend())
}

func TestABrokenDiskIsSaidWhileItLastsAndNothingAcknowledgedIsLost(t *testing.T) {
	r, disk, dir := onBadDisk(t)
	_, err := r.complained("before")
	require.NoError(t, err)
	for _, f := range []disktest.Fault{
		{Op: disktest.Write, Code: disktest.Full},
		{Op: disktest.Write, Code: disktest.ReadOnly},
		{Op: disktest.Write, Code: disktest.IOError, Torn: true},
		{Op: disktest.Sync, Code: disktest.IOError},
	} {
		disk.Break(f)
		_, err := r.complained("in vain")
		require.ErrorContains(t, err, "nothing was recorded")
		require.Eventually(t, func() bool { return !r.daemon.Now().Rooms[0].History.Kept }, 3*time.Second, time.Millisecond, "%+v", f)
		require.Error(t, r.daemon.Health())
		require.Less(t, r.late(), time.Second, "readings go on")
		disk.Mend()
		require.Eventually(t, func() bool { return r.daemon.Now().Rooms[0].History.Kept }, 3*time.Second, time.Millisecond, "by itself: %+v", f)
		require.Eventually(t, func() bool { return r.daemon.Health() == nil }, 3*time.Second, time.Millisecond,
			"a write on its way may fail yet: %+v", f)
	}
	_, err = r.complained("after")
	require.NoError(t, err)
	r.stop()
	store, err := history.Open(t.Context(), history.Options{Dir: dir, Clock: sensors.NewSystemClock(1), Zone: time.UTC})
	require.NoError(t, err)
	defer func() { require.NoError(t, store.Close()) }()
	records, err := store.Records(t.Context(), history.Query{Kinds: []string{"complaint"}})
	require.NoError(t, err)
	require.Len(t, records, 2, "what was refused is not in the book")
	gaps, err := store.Gaps(t.Context(), "tray-0-0-0", time.Now().Add(-time.Hour), time.Now())
	require.NoError(t, err)
	require.NotEmpty(t, gaps, "what the disk refused is a gap")
}
