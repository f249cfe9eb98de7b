// Package bookmark keeps how far a sender has come, in a file of its own, so that an
// outage or a restart loses nothing of what waits.
package bookmark

import (
	"errors"
	"fmt"
	"io/fs"
	"os"
	"strconv"
	"strings"

	"wetside/daemon/history/disk"
)

// File is a file that holds one whole number.
type File string

// Read gives the number; found is false when there is no file yet.
func (f File) Read() (place int64, found bool, err error) {
	data, err := os.ReadFile(string(f))
	if errors.Is(err, fs.ErrNotExist) {
		return 0, false, nil
	}
	if err == nil {
		place, err = strconv.ParseInt(strings.TrimSpace(string(data)), 10, 64)
	}
	if err != nil {
		return 0, false, fmt.Errorf("the place that was reached can't be read: delete %s to begin with what comes next: %w", f, err)
	}
	return place, true, nil
}

// Write puts the number on disk; the file is whole or the one before, whatever happens meanwhile.
func (f File) Write(place int64) error {
	if err := disk.WriteBytes(string(f), 0o600, fmt.Appendln(nil, place)); err != nil {
		return fmt.Errorf("the place that was reached can't be kept: %w", disk.Told(err))
	}
	return nil
}
