// Package disk asks the operating system for what the library of Go has no name
// for: a file as a lock between processes, and that a file is really on disk.
package disk
