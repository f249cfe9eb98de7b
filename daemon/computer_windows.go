package daemon

import (
	"fmt"
	"os"

	"golang.org/x/sys/windows"
)

// diskSpace is how many bytes are free for this program, and how many there are, on
// the disk of a folder.
func diskSpace(folder string) (free, total uint64, err error) {
	name, err := windows.UTF16PtrFromString(folder)
	if err != nil {
		return 0, 0, fmt.Errorf("reading the free space of %s: %w", folder, err)
	}
	if err := windows.GetDiskFreeSpaceEx(name, &free, &total, nil); err != nil {
		return 0, 0, fmt.Errorf("reading the free space of %s: %w", folder, err)
	}
	return free, total, nil
}

// mayUse says whether a path is there; a port such as COM3 has none and is tried at the start.
func mayUse(path string) error {
	if len(path) > 3 && path[:3] == "COM" {
		return nil
	}
	_, err := os.Stat(path)
	return err
}
