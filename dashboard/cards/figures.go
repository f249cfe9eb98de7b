// Package cards draws what several pages show: a bath, the air, what needs doing, a
// finding, the chart of a channel, and what the book of chemistry says of a vessel.
package cards

import "wetside/dashboard/web"

// Figures writes what the cards say, in the units of the place.
type Figures struct{ web.Figures }

// Numeral is a result large enough to be read without glasses. Key names it for a machine, where one reads it.
type Numeral struct{ Value, Unit, Label, Other, Key string }

// Fact is a line of what is known, under its name.
type Fact struct{ Name, Text string }

// Option is one choice.
type Option struct {
	Value, Text string
	Picture     string // the name of its drawing, if there is one
	Chosen      bool
}
