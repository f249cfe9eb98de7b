//go:build unix

package daemon

import (
	"fmt"

	"golang.org/x/sys/unix"
)

// diskSpace is how many bytes are free for this program, and how many there are, on
// the disk of a folder.
func diskSpace(folder string) (free, total uint64, err error) {
	var s unix.Statfs_t
	if err := unix.Statfs(folder, &s); err != nil {
		return 0, 0, fmt.Errorf("asking the disk of %s: %w", folder, err)
	}
	return uint64(s.Bavail) * uint64(s.Bsize), uint64(s.Blocks) * uint64(s.Bsize), nil
}
