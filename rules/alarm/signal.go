// Package alarm keeps the life of each alarm by the states of ANSI/ISA-18.2 and
// IEC 62682. It is pure: signals and the time go in, states and transitions come out.
// An alarm exists only where somebody must act; whatever else is worth saying is a notice.
package alarm

import (
	"math"
	"time"

	"wetside/sensors/quantity/phrase"
)

// Truth says whether a condition holds. The zero Truth is Unknown: a condition
// that can't be told is neither there nor gone.
type Truth uint8

// The truths of a condition. Between lies in the deadband of a value: the
// condition is what it was before, and gone where it never was.
const (
	Unknown Truth = iota
	False
	True
	Between
)

// Of turns a plain yes or no into a Truth.
func Of(holds bool) Truth {
	if holds {
		return True
	}
	return False
}

// Words say what is wrong, what to do about it and what it rests on, each a plain sentence.
type Words struct{ Text, Act, Cause phrase.Sentence }

// Words are their own speaker.
func (w Words) Words() Words { return w }

// Speaker gives the words of a signal. It is asked only when a state changes, so
// that the many signals that are in order cost no words.
type Speaker interface{ Words() Words }

// Signal is one condition as the rules see it at one moment.
type Signal struct {
	// ID is stable over the life of the alarm, such as "air" or "line:trays".
	ID    string
	Says  Speaker
	Holds Truth
	// Armed is false while the alarm is suppressed by design, such as outside sessions.
	Armed bool
	// Parent names the signal that explains this one; while the parent is not plainly in order,
	// its children are suppressed by design, so that one cause is one alarm. A child that
	// people were told of already stands until the parent is an alarm too.
	Parent  string
	Profile Profile
}

// Profile says how a kind of signal becomes an alarm.
type Profile struct {
	// OnDelay is how long a condition must hold before it is an alarm, OffDelay how
	// long it must be gone before it is over.
	OnDelay, OffDelay time.Duration
	// Urgent asks for action now; else a look is enough.
	Urgent bool
}

// Deadband turns a value into a condition with two levels: it holds beyond Raise
// and is gone only at Clear, so that noise between the two changes nothing. Clear
// at or below Raise watches for too much, Clear above Raise for too little.
type Deadband struct{ Raise, Clear float64 }

// Truth is True beyond Raise, False at or beyond Clear on the other side, Between
// in the deadband, Unknown for what is no number.
func (d Deadband) Truth(value float64) Truth {
	if d.Raise < d.Clear {
		return Deadband{-d.Raise, -d.Clear}.Truth(-value)
	}
	switch {
	case math.IsNaN(value):
		return Unknown
	case value > d.Raise:
		return True
	case value <= d.Clear:
		return False
	}
	return Between
}

// Kind is a kind of signal with usual delays and deadband.
type Kind uint8

// The kinds of signal.
const (
	Flow Kind = iota + 1
	Pressure
	Temperature
	Equipment // a line or a probe that gives no value
	Average   // already averaged over time: no delay, which would only come on top
)

// Usual are the starting values of alarm management: delay and deadband in
// percent of the range (15 s and 5 % for a flow, 15 s and 2 % for a
// pressure, 60 s and 1 % for a temperature, all from memory). The
// delay of equipment is wetside's own rule.
func (k Kind) Usual() (delay time.Duration, percent float64) {
	switch k {
	case Flow:
		return 15 * time.Second, 5
	case Pressure:
		return 15 * time.Second, 2
	case Temperature:
		return time.Minute, 1
	case Equipment:
		return 10 * time.Second, 0
	}
	return 0, 0
}

// Profile gives the usual profile of the kind.
func (k Kind) Profile() Profile {
	delay, _ := k.Usual()
	return Profile{OnDelay: delay, OffDelay: delay}
}

// Above is the deadband of a kind for a value that must not rise over a level, on
// an instrument of the given span. The span must be more than zero.
func (k Kind) Above(level, span float64) (Deadband, error) { return k.band(level, span, -1) }

// Below is the deadband of a kind for a value that must not fall under a level.
func (k Kind) Below(level, span float64) (Deadband, error) { return k.band(level, span, 1) }

func (k Kind) band(level, span, side float64) (Deadband, error) {
	if !(span > 0) || math.IsInf(span, 0) || math.IsNaN(level) || math.IsInf(level, 0) {
		return Deadband{}, phrase.Errorf("a level of %g on a span of %g is not usable: expected a number, and a span of more than zero",
			level, span)
	}
	_, percent := k.Usual()
	d := Deadband{Raise: level, Clear: level + side*span*percent/100}
	if side > 0 && d.Clear == d.Raise { // without a deadband the side is told by the smallest step
		d.Clear = math.Nextafter(level, math.Inf(1))
	}
	return d, nil
}
