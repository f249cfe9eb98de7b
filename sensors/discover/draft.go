package discover

import "wetside/sensors"

// Draft is a first configuration as somebody puts it together from what was heard: one room
// and its lines. Its volume and sizes are as typed, with their units.
type Draft struct {
	Room, Volume string
	Floor, Duct  string // empty where not known
	// Reading is how people there read figures.
	Reading Reading
	Lines   []DraftLine
}

// DraftLine is a line with the channels that are to be kept.
type DraftLine struct {
	Heard
	Keep []DraftChannel
}

// DraftChannel is a channel that is to be kept, with its name and what it measures.
type DraftChannel struct {
	Channel
	Name string
	Kind sensors.Kind
	// Role is set for the probe of a bath, such as "developer".
	Role string
}

// Reading is a way to write figures.
type Reading string

// The ways.
const (
	WithPoint Reading = "point" // the inside units
	WithComma Reading = "comma" // likewise
	USUnits   Reading = "us"
)
