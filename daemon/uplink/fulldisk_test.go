//go:build fulldisk && linux

package uplink

import (
	"os"
	"path/filepath"
	"syscall"
	"testing"
	"time"

	"github.com/stretchr/testify/require"
)

// diskOfTheCentre holds a database server and little more.
const diskOfTheCentre = "size=110m"

// fillUp leaves no room on a disk, and gives what makes room again.
func fillUp(t *testing.T, disk string) (free func()) {
	name := filepath.Join(disk, "somebody's films")
	f, err := os.Create(name)
	require.NoError(t, err)
	for block := make([]byte, 4096); err == nil; {
		_, err = f.Write(block)
	}
	require.ErrorIs(t, err, syscall.ENOSPC)
	require.NoError(t, f.Close())
	return func() { require.NoError(t, os.Remove(name)) }
}

// TestAFullDiskAtTheCentreLosesNothing has the disk of the whole database server full while sites
// send. They wait, and once there is room again everything arrives. It mounts a disk, for which it
// has to be root:
//
//	go test -tags fulldisk ./daemon/uplink -run AFullDisk -v
func TestAFullDiskAtTheCentreLosesNothing(t *testing.T) {
	before := os.TempDir()
	disk, err := os.MkdirTemp("", "wetside-disk-") // a folder of the test alone is closed to the user of the server
	require.NoError(t, err)
	t.Cleanup(func() { require.NoError(t, os.RemoveAll(disk)) })
	require.NoError(t, syscall.Mount("none", disk, "tmpfs", 0, diskOfTheCentre))
	t.Cleanup(func() { require.NoError(t, syscall.Unmount(disk, syscall.MNT_DETACH)) })
	t.Setenv("TMPDIR", disk)
	o := newOffice(t)
	t.Setenv("TMPDIR", before)
	var sites []*place
	for _, name := range []string{"Library", "Annex", "Hall"} {
		p := newSite(o.middle, name)
		p.work(time.Hour)
		p.sendAll()
		requireSame(o.middle, p)
		sites = append(sites, p)
	}

	free := fillUp(t, disk)
	failed := 0
	for range 6 {
		for _, p := range sites {
			p.work(3 * time.Hour)
			if p.send() != nil {
				failed++
			}
		}
	}
	require.Positive(t, failed, "there was no room")
	t.Logf("%d of 18 attempts failed while the disk was full", failed)
	free()
	if o.server.Tell(books, "SELECT 1") != nil { // it may have given up
		require.NoError(t, o.server.Serve())
	}
	for _, p := range sites {
		p.work(time.Hour)
		p.sendAll()
		requireSame(o.middle, p)
	}
	require.Zero(t, ask[int64](o.middle, "SELECT count(*) FROM wetside.refusal"), "a full disk is no fault of a site")
}
