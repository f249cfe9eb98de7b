// Package configs holds the files that a person edits, each commented, and those
// that the program carries with it.
package configs

import _ "embed"

// Demo is the configuration of the simulated room.
//
//go:embed demo.toml
var Demo []byte

// Catalogue is what is known of the chemistry in use, unless a place has its own.
//
//go:embed catalogue.toml
var Catalogue []byte

// Limits are published limits for what people breathe, unless a place has its own.
//
//go:embed limits.toml
var Limits []byte

// Unit is the service of systemd that runs the program.
//
//go:embed wetside.service
var Unit []byte

// DeviceRules let the program use USB serial ports; they are for udev.
//
//go:embed 70-wetside.rules
var DeviceRules []byte

// OneRoom is the commented example of a configuration.
//
//go:embed one-room.toml
var OneRoom []byte
