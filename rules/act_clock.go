package rules

import (
	"time"

	"wetside/sensors/quantity/phrase"
)

// ConfirmClock says that somebody looked at a good clock and that the computer's shows
// the same. Later records rest on it until the clock is set or the program starts again.
type ConfirmClock struct {
	kept
	// Against names the clock that was looked at, Seen what it showed, to the minute.
	Against string    `json:"against"`
	Seen    time.Time `json:"seen"`
}

// ClockConfirmed is the kind of record of a [ConfirmClock]. The record book knows it too:
// later records say that their clock was confirmed.
const ClockConfirmed = "clock confirmed"

func (ConfirmClock) Kind() string { return ClockConfirmed }

func (ConfirmClock) sentence(_ Room, d Done) phrase.Sentence {
	return d.entered(phrase.Say("the time was confirmed"))
}

// clockSlack is how far a clock read to the minute may be from the computer's: a minute
// that was not read, and some time to type it.
const clockSlack = 2 * time.Minute

func (a ConfirmClock) check(_ Room, _ Board, c Command) error {
	if err := checkWord(phrase.Say("clock that you looked at"), a.Against, true); err != nil {
		return err
	}
	if off := a.Seen.Sub(c.At.Wall).Abs(); off > clockSlack {
		return phrase.Errorf("the computer's clock shows %s, which is %s off: set the computer's clock first, which is recorded by itself, "+
			"and then confirm it",
			c.At.Wall.In(a.Seen.Location()).Format("Mon 2 Jan 2006 15:04"), Age(off))
	}
	return nil
}

// ClockView says how far the wall clock may be believed.
type ClockView struct {
	// Confirmed is set when a person has looked at a good clock since the start.
	Confirmed bool
	// Behind is set when the clock shows a time before that of an earlier record: an
	// empty battery, or a step back.
	Behind bool
	// Stepped is set when the clock was set and nobody has looked since.
	Stepped bool
}

func (c ClockView) notices() []phrase.Sentence {
	switch {
	case c.Confirmed:
		return nil
	case c.Behind:
		return []phrase.Sentence{phrase.Say("The computer's clock is behind the last record: check the clock, and confirm the time " +
			"under Probes.")}
	case c.Stepped:
		return []phrase.Sentence{phrase.Say("The computer's clock was set and nobody has confirmed the time since: look at an accurate " +
			"clock and " +
			"confirm the time under Probes.")}
	}
	return nil
}
