//go:build !linux

package main

// beforeProgram has nothing to do where a program can't have a disk of its own.
func beforeProgram() error { return nil }
