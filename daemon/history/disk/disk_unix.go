//go:build unix

package disk

import (
	"errors"
	"os"
	"syscall"
)

// Lock takes the lock for this process; the system releases it when the
// process ends, however it ends.
func Lock(f *os.File) (taken bool, err error) {
	err = syscall.Flock(int(f.Fd()), syscall.LOCK_EX|syscall.LOCK_NB)
	if errors.Is(err, syscall.EWOULDBLOCK) {
		return false, nil
	}
	return err == nil, err
}

// Full says whether an error is that of a disk without room.
func Full(err error) bool { return errors.Is(err, syscall.ENOSPC) || errors.Is(err, syscall.EDQUOT) }

// Sync waits until a file, or the names in a folder, are on disk.
func Sync(path string) error {
	f, err := os.Open(path)
	if err != nil {
		return err
	}
	return errors.Join(f.Sync(), f.Close())
}
