package ventilation

import (
	"math"
	"time"

	"wetside/sensors/quantity"
	"wetside/sensors/quantity/phrase"
)

// Purge says what a purge must reach. It holds only while no source is open:
// before the trays are uncovered, or after they are covered again.
type Purge struct {
	Volume quantity.CubicMetre
	// Remove is the share of the old air to be gone, above 0 and below 100 %.
	Remove quantity.Percent
	// Mixing is 1 for perfect mixing, up to 10 for very poor air distribution (CDC table note).
	Mixing float64
	// LongestGap is the longest pause between readings over which flow is counted;
	// over a longer one nothing is.
	LongestGap time.Duration
}

// PurgeTime gives -ln(1 - share)·K/n, the time to remove a share of the air at a
// steady air change rate with no source (CDC text on air changes).
func PurgeTime(n quantity.PerHour, remove quantity.Percent, mixing float64) (time.Duration, error) {
	if err := positive(phrase.Say("air change rate"), float64(n), "/h"); err != nil {
		return 0, err
	}
	volumes, err := volumesToMove(remove, mixing)
	if err != nil {
		return 0, err
	}
	hours := volumes / float64(n)
	if hours > 24*365 {
		return 0, phrase.Errorf("at %g air changes an hour the purge would take over a year: the room is not ventilated", float64(n))
	}
	return time.Duration(hours * float64(time.Hour)), nil
}

// volumesToMove gives how many room volumes must pass.
func volumesToMove(remove quantity.Percent, mixing float64) (float64, error) {
	if !(remove > 0 && remove < 100) {
		return 0,
			phrase.Errorf("a share of %g %% to remove is not usable: expected above 0 and below 100 %%, since dilution never removes all",
				float64(remove))
	}
	if !(mixing >= 1 && mixing <= 10) {
		return 0, phrase.Errorf("a mixing factor of %g is not usable: expected 1 (perfect mixing) to 10 (very poor)", mixing)
	}
	return -math.Log1p(-float64(remove)/100) * mixing, nil
}

// Countdown is a purge under way: it integrates the measured flow and is worth
// nothing without one. It is a value; each step gives a new one.
type Countdown struct {
	purge Purge
	need  float64 // m³ of air to move
	moved float64 // m³ moved so far
	at    time.Time
	flow  Optional[quantity.CubicMetrePerHour]
}

// Start begins a countdown.
func (p Purge) Start() (Countdown, error) {
	volumes, err := volumesToMove(p.Remove, p.Mixing)
	if err != nil {
		return Countdown{}, err
	}
	if err := positive(phrase.Say("room volume"), float64(p.Volume), "m³"); err != nil {
		return Countdown{}, err
	}
	if p.LongestGap <= 0 {
		return Countdown{}, phrase.Errorf("a longest gap of %s between flow readings is not usable: expected more than zero", p.LongestGap)
	}
	return Countdown{purge: p, need: volumes * float64(p.Volume)}, nil
}

// Observe counts the air moved since the last reading: the lower of the two
// flows over the time between, nothing over a gap, an unknown flow or a clock
// that went back. So a stop pauses the countdown and never speeds it up.
func (c Countdown) Observe(at time.Time, flow Optional[quantity.CubicMetrePerHour]) Countdown {
	now, known := flow.Get()
	if known && !(now >= 0) {
		flow, known = Optional[quantity.CubicMetrePerHour]{}, false
	}
	before, had := c.flow.Get()
	if span := at.Sub(c.at); known && had && span > 0 && span <= c.purge.LongestGap {
		c.moved += float64(min(before, now)) * span.Hours()
	}
	c.at, c.flow = at, flow
	return c
}

// Done says whether the air asked for has been moved.
func (c Countdown) Done() bool { return c.need > 0 && c.moved >= c.need }

// Removed gives the share of the old air that has gone so far.
func (c Countdown) Removed() quantity.Percent {
	if c.need <= 0 {
		return 0
	}
	return quantity.Percent(-math.Expm1(-c.moved/(float64(c.purge.Volume)*c.purge.Mixing)) * 100)
}

// Remaining gives the time left at the flow last read; it is unknown while no
// flow is measured, or while it would take longer than a day.
func (c Countdown) Remaining() (time.Duration, bool) {
	if c.Done() {
		return 0, true
	}
	flow, known := c.flow.Get()
	if !known || c.need <= 0 || !(flow > 0) {
		return 0, false
	}
	hours := (c.need - c.moved) / float64(flow)
	return time.Duration(hours * float64(time.Hour)), hours <= 24
}
