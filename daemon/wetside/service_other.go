//go:build !windows

package main

// asService is for Windows alone: elsewhere the program's own start is all that a service needs.
func asService([]string) (code int, is bool) { return 0, false }
