// Package chem works out what a person at the mixing table, at the tray and at
// the storage shelf must know: how much to pour, how long to develop tonight and
// why, and whether a bath will last the class.
//
// It is pure: it reads no clock, no file and no port, holds no state of its own
// and starts nothing. Time and measurements come in as values; an input that is
// not known is said to be unknown, and an answer that cannot be given is a
// [Refusal] with its reason, never a number.
package chem

import (
	"errors"

	"wetside/sensors/quantity/phrase"
)

// Refusal says why there is no answer, in a plain sentence that can be shown.
type Refusal struct {
	// Reason is the sentence, such as "the bath temperature is not known".
	Reason phrase.Sentence
}

func (r Refusal) Error() string { return r.Reason.String() }

// By is the reason as a place tells it.
func (r Refusal) By(t phrase.Place) string { return r.Reason.By(t) }

// IsRefusal tells a refusal, which is an answer, from a mistake in the input.
func IsRefusal(err error) bool { return errors.As(err, new(Refusal)) }
