// Package record says what all records of the book have in common, and what is
// known about each kind of record before one is read.
package record

import (
	"encoding/json"
	"math"
	"time"

	"wetside/rules/access"
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

// Kind is everything that is known about a kind of record before one is read. It
// is declared once, beside the type that the content is read into.
type Kind struct {
	Name string
	// Decode reads the content of such a record.
	Decode func(json.RawMessage) (any, error)
	// Recalled says how far back such records are read when a room starts again.
	Recalled Recalled
	// Least is the lowest role that may enter such a record.
	Least access.Role
	// Judges is what such a record changes the judgement of.
	Judges Subject
}

// Program stands in the place of a role where the program itself writes a record.
// No person has it, so no form can ask for such a record.
const Program access.Role = "the program"

// Recalled is how far back records of a kind are read when a room starts again. The
// zero value says nothing and is refused.
type Recalled time.Duration

// The two ends of how far back records are read; [Within] is between them.
const (
	Never  Recalled = -1
	Always Recalled = math.MaxInt64
)

// Within has only the records of so long before now read.
func Within(span time.Duration) Recalled { return Recalled(span) }

// Subject is what records change the judgement of.
type Subject string

// The subjects. Nothing is for records that are only kept.
const (
	Nothing  Subject = "nothing"
	Place    Subject = "place"    // the settings in force, by which everything is judged
	Air      Subject = "air"      // what the flow and the air changes are judged by
	Gases    Subject = "gases"    // what the air that is breathed is judged by
	Readings Subject = "readings" // how far a probe may be believed
	Alarms   Subject = "alarms"
	Sessions Subject = "sessions"
	Trays    Subject = "trays" // what is in a tray and which time was announced for it
	Stock    Subject = "stock" // the shelf: bottles, batches, waste
	Clock    Subject = "clock"
	Duties   Subject = "duties"
	Screens  Subject = "screens"
	People   Subject = "people"
	Samples  Subject = "samples" // which samples the history keeps
)

// JSON reads content into a T.
func JSON[T any](content json.RawMessage) (any, error) {
	var into T
	err := json.Unmarshal(content, &into)
	return into, err
}
