//go:build !linux && !windows

package main

import "errors"

type installCmd struct{}

// Help says what takes its place.
func (installCmd) Help() string {
	return `On this system, start the program yourself, or have the system start it:
  wetside run --config site.toml --data data --first-run`
}

// Run says what takes its place.
func (installCmd) Run() error {
	return usageError{errors.New("install is for Linux and Windows; wetside install --help says what takes its place here")}
}

type uninstallCmd struct{}

// Help says what takes its place.
func (uninstallCmd) Help() string { return "End the program and take its file away; the data stay." }

// Run says what takes its place.
func (uninstallCmd) Run() error {
	return usageError{errors.New("uninstall is for Linux and Windows: take the file of the program away, the data stay")}
}
