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
