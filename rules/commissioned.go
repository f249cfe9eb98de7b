package rules

import (
	"time"

	"wetside/rules/ventilation"
	"wetside/sensors/quantity"
	"wetside/sensors/quantity/phrase"
)

// Commissioned is what the newest traverse of the duct has proven, as the configuration or
// the book holds it. The zero Commissioned is a room that was never commissioned.
type Commissioned struct {
	Flow        quantity.CubicMetrePerHour
	Date        time.Time
	By          string // who measured; empty for one that only the configuration tells of
	Instrument  string // make-independent name and serial number
	Certificate string // number of its calibration certificate
	Conditions  string // doors, filters, other fans at the time
	// Uncertainty of the flow, expanded (k = 2); zero when it is not stated.
	Uncertainty quantity.Percent
	// Design is what the exhaust was designed for, zero when nobody knows; First is what the
	// first traverse found, and DropReason why less moves now.
	Design     quantity.CubicMetrePerHour
	First      FirstFlow
	DropReason string
	// Next is the day by which the duct is to be traversed again; zero when none is set.
	Next time.Time
	// Record is the number of the traverse in the book and Traverse what it was worked
	// out from, in words; zero and empty for one that only the configuration tells of.
	Record   uint64
	Traverse phrase.Sentence
	// RoomPressure, room minus neighbour, at the traverse: what is usual from then on.
	RoomPressure ventilation.Optional[quantity.Pascal]
}

// dropFrom is the share of an earlier or a design flow below which a traverse shows a drop
// (choice of this program: three times the uncertainty of a good traverse).
const dropFrom = 0.9

// Drop says by how much less air moves than by design, or else than at the first traverse;
// empty where neither is known or the flow is about the same.
func (c Commissioned) Drop() phrase.Sentence {
	switch {
	case c.Design > 0 && c.Flow < dropFrom*c.Design:
		return phrase.Say("%.0f %% of the design flow of %s", 100*float64(c.Flow/c.Design), c.Design.To(1))
	case c.First.Flow > 0 && c.Flow < dropFrom*c.First.Flow:
		return phrase.Say("%.0f %% of the %s that the first traverse found on %s", 100*float64(c.Flow/c.First.Flow), c.First.Flow.To(1),
			c.First.At.Format(time.DateOnly))
	}
	return phrase.Sentence{}
}

// notice tells of less air than by design or at first; empty where there is none to tell of.
func (c Commissioned) notice() (list []phrase.Sentence) {
	drop := c.Drop()
	switch {
	case drop.IsZero():
	case c.DropReason != "":
		list = append(list, phrase.Say("The newest traverse found %s. Reason entered: %s.", drop, c.DropReason))
	default:
		list = append(list, phrase.Say("The newest traverse found %s. No reason was entered.", drop))
	}
	return list
}
