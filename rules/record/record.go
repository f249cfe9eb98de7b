// Package record says what all records of the book have in common, and what is
// known about each kind of record before one is read.
package record

import (
	"encoding/json"
	"time"
)

// Record is a record of the book as rules and readers need it: what was written,
// by whom, about which room. Its hash and the clocks of the computer stay with the
// history.
type Record struct {
	// Number counts from 1 without a hole.
	Number uint64
	Kind   string
	Room   string
	Person string
	// At is when the record was written, Happened when what it says took place if that
	// was earlier; zero otherwise. UTC.
	At, Happened time.Time
	// Corrects is the number of the record that this one corrects, or 0.
	Corrects uint64
	// Reason says why, for a correction or a late entry.
	Reason  string
	Content json.RawMessage
}

// When is the moment that the record is about: when it happened, as far as that was said.
func (r Record) When() time.Time {
	if r.Happened.IsZero() {
		return r.At
	}
	return r.Happened
}
