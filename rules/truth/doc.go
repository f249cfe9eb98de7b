// Package truth says how far the probes of a room may be believed: which device is
// fitted where, what its checks against ice and references found, which correction
// holds from when on, and what the readings themselves give away. Raw values are
// never altered, and what is found is only offered: a person confirms or dismisses it.
//
// It is pure: no clock, no I/O; the time comes in as a value. Values are in the
// inside unit of their channel, differences of temperature in kelvin.
package truth
