package viewtest

import (
	"wetside/dashboard/keep"
	"wetside/sensors/discover"
)

// FirstRun is an invented computer with one port, to which nobody has listened yet.
type FirstRun struct{ keep.FirstRun }

// Ports gives one invented port.
func (FirstRun) Ports() []string { return []string{"/dev/serial/by-id/usb-trays"} }

// File is an invented one.
func (FirstRun) File() string { return "/etc/wetside/site.toml" }

// Heard is nothing.
func (FirstRun) Heard() []discover.Heard { return nil }

// Written says that there is no configuration.
func (FirstRun) Written() bool { return false }
