package ledger

import (
	"time"

	"wetside/rules/access"
	"wetside/rules/record"
)

// The kinds of [RoomNote], as the record book names them.
const (
	RoomFound = "room as found"
	NoteLeft  = "note left"
)

// RoomNote is what one volunteer leaves to the next: the room as it was found, or how it was left.
type RoomNote struct {
	Kind   string    `json:"-"`
	Room   string    `json:"-"`
	Number uint64    `json:"-"`
	By     string    `json:"-"`
	At     time.Time `json:"-"`
	Lines  []string  `json:"lines"`
	// Fill is for whom the trays are filled, where a set-up has begun.
	Fill string `json:"fill,omitempty"`
	// Air is what was known of the room's air at that moment.
	Air string `json:"air,omitempty"`
}

// NoteKinds declares the kinds of record that hold a [RoomNote].
func NoteKinds() []record.Kind {
	var kinds []record.Kind
	for _, name := range []string{RoomFound, NoteLeft} {
		kinds = append(kinds, record.Kind{Name: name, Decode: record.JSON[RoomNote],
			Recalled: record.Never, Least: access.Volunteer, Judges: record.Nothing})
	}
	return kinds
}
