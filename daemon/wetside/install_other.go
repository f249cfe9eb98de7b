//go:build !linux

package main

import "errors"

type installCmd struct{}

// Help says what takes its place.
func (installCmd) Help() string {
	return `On this system, have the program started at sign-in: put a shortcut to
  wetside run --config C:\wetside\site.toml --first-run
into the folder that opens with Win+R and shell:startup. Ports are named COM3 and the like.`
}

// Run says what takes its place.
func (installCmd) Run() error {
	return usageError{errors.New("install is for Linux with systemd; wetside install --help says what takes its place here")}
}

type uninstallCmd struct{}

// Help says what takes its place.
func (uninstallCmd) Help() string { return "Take the shortcut away again; the data stay." }

// Run says what takes its place.
func (uninstallCmd) Run() error {
	return usageError{errors.New("uninstall is for Linux with systemd; take the shortcut away, the data stay")}
}
