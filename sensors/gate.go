package sensors

import (
	"math"

	"wetside/sensors/quantity"
)

// A jump is believed once this many further values in a row agree with it
// (common practice: one spike is noise, a stay is a change).
const jumpConfirmations = 3

// powerOnCelsius is what a common digital thermometer holds before its first
// conversion: register value 0x0550, +85 °C, by its maker's data sheet (from memory).
const powerOnCelsius = 85.0

// Gate judges the measurements of one channel, one after another. It is a pure
// state machine: the time comes in with each measurement.
type Gate struct {
	channel Channel

	wireUnit string // the unit last seen on the wire, and whether it is the channel's
	unitFits bool

	seen    bool // at least one usable raw value came
	raw     float64
	rawAt   Instant
	rawFrom Instant // since when raw is unchanged

	hasGood   bool
	good      float64
	goodAt    Instant
	jumped    bool // a jump waits to be confirmed
	jumpValue float64
	agreeing  int
}

// NewGate makes the gate of a channel that has not been heard yet.
func NewGate(c Channel) *Gate { return &Gate{channel: c, unitFits: true} }

// Judge grades one measurement that arrived at a moment. The raw value is kept
// whatever the grade. A fault that the probe reports, or a number that is infinite
// or not a number, is no value at all and gives a missing reading.
func (g *Gate) Judge(m Measurement, at Instant) Reading {
	r := Reading{Channel: g.channel.ID, At: at, Raw: m.Value, Grade: Suspect}
	switch {
	case m.Fault || math.IsNaN(m.Value) || math.IsInf(m.Value, 0):
		r.Grade, r.Reason = Missing, ProbeFault
	case !g.fits(m.Unit):
		r.Reason = UnitMismatch
	default:
		base := g.channel.Unit.ToBase(m.Value)
		r.Value = g.channel.Correct(base, at.Wall)
		r.Reason = g.doubt(m.Value, r.Value, at)
		if r.Reason == "" {
			r.Grade = Good
			g.hasGood, g.good, g.goodAt, g.jumped = true, r.Value, at, false
		}
	}
	return r
}

// fits says whether the unit on the wire is the channel's; a probe that sends
// none is believed. Nothing is converted: a probe that changes its unit may as
// well have changed its meaning.
func (g *Gate) fits(unit string) bool {
	if unit == "" {
		return true
	}
	if unit != g.wireUnit {
		u, err := quantity.ParseUnit(unit)
		g.wireUnit, g.unitFits = unit, err == nil && u == g.channel.Unit
	}
	return g.unitFits
}

// doubt gives the first reason not to believe a value, or none.
func (g *Gate) doubt(raw, value float64, at Instant) Reason {
	pause := g.note(raw, at)
	switch {
	case g.poweredOn(raw):
		return PowerOn
	case !g.channel.Plausible.Holds(value):
		return OutOfRange
	case g.jumps(value, at, pause):
		return Jump
	case g.channel.Flat > 0 && at.Since(g.rawFrom) > g.channel.Flat:
		return FlatLine
	}
	return ""
}

// note keeps track of how long the raw value has stood still and says whether
// the channel paused for longer than its silence before it. What a probe did
// in a pause is unknown, so the count starts anew.
func (g *Gate) note(raw float64, at Instant) (pause bool) {
	pause = !g.seen || g.older(g.rawAt, at)
	if pause || raw != g.raw {
		g.rawFrom = at
	}
	g.seen, g.raw, g.rawAt = true, raw, at
	return pause
}

func (g *Gate) older(then, now Instant) bool {
	return g.channel.Silence > 0 && now.Since(then) > g.channel.Silence
}

func (g *Gate) poweredOn(raw float64) bool {
	const rounding = 0.001
	u := g.channel.Unit
	return u.Dimension() == quantity.Temperature && math.Abs(u.ToBase(raw)-powerOnCelsius) < rounding
}

// jumps says whether a value lies too far from the last good one. Without a
// fresh good value to compare with, and no jump waiting, anything is believed.
func (g *Gate) jumps(value float64, at Instant, pause bool) bool {
	limit := g.channel.Jump
	near := func(a float64) bool { return math.Abs(value-a) <= limit }
	if pause {
		g.jumped = false
	}
	if limit <= 0 || !g.hasGood || near(g.good) || (!g.jumped && g.older(g.goodAt, at)) {
		g.jumped = false
		return false
	}
	if g.jumped && near(g.jumpValue) {
		g.agreeing++
	} else {
		g.jumped, g.agreeing = true, 0
	}
	g.jumpValue = value
	return g.agreeing < jumpConfirmations
}
