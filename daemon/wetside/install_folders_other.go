//go:build !linux

package main

import "wetside/daemon"

// checkService has nothing to say where install makes no service.
func checkService(string, string) []daemon.SelfCheck { return nil }
