//go:build unix

package history

import (
	"errors"
	"os"
	"syscall"
)

// lockFile takes the lock for this process; the system releases it when the
// process ends, however it ends.
func lockFile(f *os.File) (taken bool, err error) {
	err = syscall.Flock(int(f.Fd()), syscall.LOCK_EX|syscall.LOCK_NB)
	if errors.Is(err, syscall.EWOULDBLOCK) {
		return false, nil
	}
	return err == nil, err
}

// syncFile waits until a file, or the names in a folder, are on disk.
func syncFile(path string) error {
	f, err := os.Open(path)
	if err != nil {
		return err
	}
	return errors.Join(f.Sync(), f.Close())
}
