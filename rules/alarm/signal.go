// Package alarm keeps the life of each alarm by the states of ANSI/ISA-18.2 and
// IEC 62682. It is pure: signals and the time go in, states and transitions come out.
// An alarm exists only where somebody must act; whatever else is worth saying is a notice.
package alarm

import (
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
	// Latching keeps the alarm until it is reset, even after the condition has gone.
	Latching bool
}
