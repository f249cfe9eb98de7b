// Package disk asks the operating system for what the library of Go has no name
// for: a file as a lock between processes, that a file is really on disk, and that a
// disk is full.
package disk

import "fmt"

// Told adds to the error of a disk without room what to do about it.
func Told(err error) error {
	if Full(err) {
		return fmt.Errorf("the disk is full: free some space, or choose another place (%w)", err)
	}
	return err
}
