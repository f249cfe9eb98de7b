package people

import (
	"encoding/json"
	"errors"
	"io/fs"
	"os"
	"path/filepath"
	"time"

	"wetside/daemon/history/disk"
	"wetside/sensors/quantity/phrase"
)

// FileName is the name of the file of people in the data folder. It is not part of
// a backup: whoever restores one invites people again, or copies this file by itself.
const FileName = "people.json"

// lockWithin is how long another program may take to change the file.
const lockWithin = 5 * time.Second

// load reads a register; a file that is not there is an empty one.
func load(dir string) (*register, error) {
	r := &register{}
	return r, readJSON(filepath.Join(dir, FileName), r)
}

// readJSON reads a file of ours; one that is not there leaves v as it is.
func readJSON(path string, v any) error {
	data, err := os.ReadFile(path)
	if errors.Is(err, fs.ErrNotExist) {
		return nil
	}
	if err == nil {
		err = json.Unmarshal(data, v)
	}
	if err != nil {
		return phrase.Errorf("the file %s can't be read: restore a copy of it, or move it away and invite people again: %w", path,
			hideContent(err))
	}
	return nil
}

// hideContent keeps what stands in a file out of the error about it.
func hideContent(err error) error {
	if at := new(json.SyntaxError); errors.As(err, &at) {
		return phrase.Errorf("it is not valid JSON from byte %d on", at.Offset)
	}
	if at := new(json.UnmarshalTypeError); errors.As(err, &at) {
		return phrase.Errorf("the value at byte %d is not of the expected kind", at.Offset)
	}
	return err
}

// writeJSON puts a file of ours in the place of the one before: whole, on disk, and
// readable by this user alone.
func writeJSON(path string, v any) error {
	data, err := json.MarshalIndent(v, "", "  ")
	if err != nil {
		return phrase.Errorf("%s can't be written: %w", path, err)
	}
	if err := disk.WriteBytes(path, 0o600, append(data, '\n')); err != nil {
		return phrase.Errorf("%s can't be written: check the disk and who owns the folder: %w", path, err)
	}
	return nil
}

// change reads the register, lets it be changed, and keeps it, one program at a time.
func change(dir string, f func(*register) error) (*register, error) {
	if err := os.MkdirAll(dir, 0o750); err != nil {
		return nil, phrase.Errorf("the data folder can't be made: %w", err)
	}
	lock, err := os.OpenFile(filepath.Join(dir, "people.lock"), os.O_CREATE|os.O_RDWR, 0o600)
	if err != nil {
		return nil, phrase.Errorf("the file of people can't be changed: %w", err)
	}
	defer lock.Close() // which gives the lock back
	for end := time.Now().Add(lockWithin); ; time.Sleep(20 * time.Millisecond) {
		taken, err := disk.Lock(lock)
		if err != nil {
			return nil, phrase.Errorf("the file of people can't be locked: %w", err)
		}
		if taken {
			break
		}
		if time.Now().After(end) {
			return nil, phrase.Errorf("another program is changing the file of people: try again")
		}
	}
	r, err := load(dir)
	if err == nil {
		err = f(r)
	}
	if err == nil {
		err = writeJSON(filepath.Join(dir, FileName), r)
	}
	return r, err
}
