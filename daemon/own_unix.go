//go:build unix

package daemon

import (
	"os"

	"golang.org/x/sys/unix"
)

// mayUse says whether this user may read and write a path, without opening it.
func mayUse(path string) error {
	if err := unix.Access(path, unix.R_OK|unix.W_OK); err != nil {
		return &os.PathError{Op: "use", Path: path, Err: err}
	}
	return nil
}
