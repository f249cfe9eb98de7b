// Package sensors knows channels, probes and readings, and watches serial lines:
// bytes go in, dated readings of a stated quality come out.
//
// A channel is a place, a probe is a device; a line is a serial port. A [Watch]
// owns one line: it opens it, again and again if it must, feeds a [Decoder], and
// hands on each reading, dated once. How lines are opened is the business of
// sensors/serialport, how frames are read that of sensors/dialect.
package sensors

import (
	"time"

	"wetside/sensors/quantity"
	"wetside/sensors/quantity/phrase"
)

// ChannelID names a place where something is measured, unique within a site:
// the developer tray, the exhaust duct. A probe may be exchanged; the place stays.
type ChannelID string

// Channel is a place where one quantity is measured, and what is believable there.
type Channel struct {
	ID   ChannelID
	Name string // as people call the place
	Kind Kind
	// Unit is the unit in which the probe sends; raw values are kept in it.
	Unit quantity.Unit
	Traits
	// Top is the end of the probe's own range, in the inside unit: what stands there is at least so much. Zero: not known.
	Top float64
	// Corrections in force, oldest first; a reading uses the last one whose From has come.
	Corrections []Correction
}

// Correction turns a raw value, in the inside unit, into a true one by
// Slope*raw + Offset from a date on. Raw values are never altered.
type Correction struct {
	From   time.Time `json:"from"`
	Slope  float64   `json:"slope"`
	Offset float64   `json:"offset"`
}

// Correct applies the correction in force at a date to a value in the inside unit.
func (c Channel) Correct(base float64, at time.Time) float64 {
	for i := len(c.Corrections) - 1; i >= 0; i-- {
		if k := c.Corrections[i]; !at.Before(k.From) {
			return k.Slope*base + k.Offset
		}
	}
	return base
}

// Grade says how far a reading may be trusted. The zero Grade is Missing.
type Grade uint8

// The grades of a reading. Only a Good one may reach a recommendation.
const (
	Missing Grade = iota
	Suspect
	Good
)

// String is the word in records and metrics.
func (g Grade) String() string {
	switch g {
	case Good:
		return "good"
	case Suspect:
		return "suspect"
	default:
		return "missing"
	}
}

// Said is the word shown to people.
func (g Grade) Said() phrase.Sentence {
	switch g {
	case Good:
		return phrase.Say("good")
	case Suspect:
		return phrase.Say("suspect")
	default:
		return phrase.Say("missing")
	}
}

// Reason says why a reading is suspect or missing; it is empty for a good one.
type Reason string

// The reasons for which a reading is not good.
const (
	OutOfRange Reason = "out of range"
	Jump       Reason = "jump"
	FlatLine   Reason = "flat line"
	// Waited marks a value that waited while the program stood still: nobody knows for
	// how long, so the value has the earliest date that is possible.
	Waited        Reason = "waited while the program stood still"
	PowerOn       Reason = "power-on value"
	UnitMismatch  Reason = "unit mismatch"
	ProbeFault    Reason = "probe reports a fault"
	Silent        Reason = "silent"
	NeverSeen     Reason = "not seen yet"
	LineLost      Reason = "line gone"
	OutOfService  Reason = "out of service"
	NotConfigured Reason = "not configured"
	// LooksWrong is that of a channel whose recent readings give away that its probe fails.
	LooksWrong Reason = "readings look wrong"
)

func (r Reason) Said() phrase.Sentence { return phrase.Plain(string(r)) }

// Reading is one value from one channel, dated once when its frame was complete.
type Reading struct {
	Channel ChannelID
	At      Instant
	// Raw is what the probe sent, in the channel's unit (but for a unit mismatch, in
	// the unit sent), never altered.
	Raw float64
	// Value is Raw in the inside unit, corrected by the record in force. It means
	// nothing unless Grade is Good.
	Value  float64
	Grade  Grade
	Reason Reason
}

// Measurement is one value as a frame on the wire carried it, before anything
// is known of the channel it belongs to.
type Measurement struct {
	// Address is the dialect's own name of the source within a line: a channel name,
	// a transducer identifier, "3/30001" for a register of a Modbus unit.
	Address string
	Value   float64
	// Unit is as written on the wire, or "" where the dialect carries none.
	Unit string
	// Fault is set when the probe itself says that the value can't be trusted.
	Fault bool
}
