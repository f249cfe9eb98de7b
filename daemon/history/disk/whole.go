// Package disk asks the operating system for what the library of Go has no name
// for: a file as a lock between processes, that a file is really on disk, and that a
// disk is full.
package disk

import (
	"errors"
	"fmt"
	"io"
	"io/fs"
	"os"
	"path/filepath"
	"syscall"
)

// WriteWhole puts a file in the place of the one before. Whatever happens meanwhile, the
// file is the new one as a whole or the one before: a write that fails, such as on a full
// disk, leaves the one before as it was. A link in the place of the half-written file is
// taken away and not followed.
func WriteWhole(path string, mode fs.FileMode, fill func(io.Writer) error) error {
	half := path + ".part"
	if err := os.Remove(half); err != nil && !errors.Is(err, fs.ErrNotExist) {
		return err
	}
	f, err := os.OpenFile(half, os.O_CREATE|os.O_EXCL|os.O_WRONLY, mode)
	if err != nil {
		return err
	}
	if err = errors.Join(f.Chmod(mode), fill(f), f.Close()); err == nil {
		err = InPlace(half, path)
	}
	if err != nil {
		return errors.Join(err, removed(half))
	}
	return nil
}

// WriteBytes is [WriteWhole] for a content that is at hand.
func WriteBytes(path string, mode fs.FileMode, content []byte) error {
	return WriteWhole(path, mode, func(w io.Writer) error {
		_, err := w.Write(content)
		return err
	})
}

// InPlace gives a finished file its name once its content is on disk, and waits until
// the name is on disk too.
func InPlace(half, path string) error {
	if err := Sync(half); err != nil {
		return err
	}
	if err := os.Rename(half, path); err != nil {
		return err
	}
	err := Sync(filepath.Dir(path))
	if errors.Is(err, syscall.EINVAL) || errors.Is(err, errors.ErrUnsupported) {
		return nil // this kind of disk keeps the names of a folder by itself
	}
	return err
}

// removed takes a half-written file away; one that is in place already is gone.
func removed(half string) error {
	if err := os.Remove(half); !errors.Is(err, fs.ErrNotExist) {
		return err
	}
	return nil
}

// Told adds to the error of a disk without room what to do about it.
func Told(err error) error {
	if Full(err) {
		return fmt.Errorf("the disk is full: free some space, or choose another place (%w)", err)
	}
	return err
}
