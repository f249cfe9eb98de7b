package disk

import (
	"errors"
	"os"

	"golang.org/x/sys/windows"
)

// Lock takes the lock for this process; the system releases it when the
// process ends, however it ends.
func Lock(f *os.File) (taken bool, err error) {
	const flags = windows.LOCKFILE_EXCLUSIVE_LOCK | windows.LOCKFILE_FAIL_IMMEDIATELY
	err = windows.LockFileEx(windows.Handle(f.Fd()), flags, 0, 1, 0, &windows.Overlapped{})
	if errors.Is(err, windows.ERROR_LOCK_VIOLATION) {
		return false, nil
	}
	return err == nil, err
}

// Full says whether an error is that of a disk without room.
func Full(err error) bool {
	return errors.Is(err, windows.ERROR_DISK_FULL) || errors.Is(err, windows.ERROR_HANDLE_DISK_FULL)
}

// Sync waits until a file is on disk. Windows keeps the names in a folder
// by itself.
func Sync(path string) error {
	if info, err := os.Stat(path); err != nil || info.IsDir() {
		return err
	}
	f, err := os.OpenFile(path, os.O_RDWR, 0)
	if err != nil {
		return err
	}
	return errors.Join(f.Sync(), f.Close())
}
