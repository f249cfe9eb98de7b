//go:build unix

package daemon

import (
	"fmt"
	"os"

	"golang.org/x/sys/unix"
)

// diskSpace is how many bytes are free for this program, and how many there are, on
// the disk of a folder.
func diskSpace(folder string) (free, total uint64, err error) {
	var s unix.Statfs_t
	if err := unix.Statfs(folder, &s); err != nil {
		return 0, 0, fmt.Errorf("reading the free space of %s: %w", folder, err)
	}
	return uint64(s.Bavail) * uint64(s.Bsize), uint64(s.Blocks) * uint64(s.Bsize), nil
}

// mayUse says whether this user may read and write a path, without opening it.
func mayUse(path string) error {
	if err := unix.Access(path, unix.R_OK|unix.W_OK); err != nil {
		return &os.PathError{Op: "use", Path: path, Err: err}
	}
	return nil
}
