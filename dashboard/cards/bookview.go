package cards

import (
	"cmp"
	"slices"
	"time"

	"wetside/chem/ledger"
	"wetside/rules"
	"wetside/sensors/quantity/phrase"
)

// ShelfBook is the book as it stands, with what the site says beside it.
type ShelfBook struct {
	*ledger.Ledger
	At        time.Time // of the look, in the zone of the place
	Catalogue ledger.Catalogue
	// Records are all entries of the book by number, corrected ones included.
	Records []ShelfRecord
	// Trays are the baths of every room, each room in the order in which it pours.
	Trays []ShelfTray
	// Found and Left are the newest notes of each room: at its set-up, at its take-down.
	Found, Left map[string]ledger.RoomNote
}

// mostNames is how many people a form offers, of those in the last recentRecords.
const (
	mostNames     = 8
	recentRecords = 2000
)

// LastNames are the people who wrote the newest records, the newest first.
func LastNames(records []ShelfRecord) (names []string) {
	for _, r := range slices.Backward(records[max(0, len(records)-recentRecords):]) {
		if !slices.Contains(names, r.By) {
			names = append(names, r.By)
		}
		if len(names) == mostNames {
			break
		}
	}
	return names
}

// ShelfRecord is one entry with the reason that was given for it.
type ShelfRecord struct {
	ledger.Entry
	Room   string
	Reason string
}

// Record is the entry of a number as it was written.
func (b *ShelfBook) Record(number uint64) (r ShelfRecord, known bool) {
	at, known := slices.BinarySearchFunc(b.Records, number, func(r ShelfRecord, number uint64) int { return cmp.Compare(r.Number, number) })
	if known {
		r = b.Records[at]
	}
	return r, known
}

// AsKept is an entry as the book keeps it: with the room and the reason that were written beside it.
func (b *ShelfBook) AsKept(e ledger.Entry) ShelfRecord {
	kept, _ := b.Record(e.Number)
	kept.Entry = e
	return kept
}

// ShelfTray is a bath of a room and the container of the book that stands there.
type ShelfTray struct {
	Room, Bath, Name string
	Role             rules.Role
	Container        string
}

// Classes are the classes of chemistry that the tray can hold; none for a wash.
func (t ShelfTray) Classes() []ledger.Class {
	switch t.Role {
	case rules.Developer:
		return []ledger.Class{ledger.PrintDeveloper, ledger.FilmDeveloper}
	case rules.StopBath:
		return []ledger.Class{ledger.StopBath}
	case rules.Fixer:
		return []ledger.Class{ledger.Fixer}
	case rules.WashAid:
		return []ledger.Class{ledger.WashAid}
	case rules.Toner:
		return []ledger.Class{ledger.Toner}
	}
	return nil
}

// TrayOf is the container that serves a bath: the one that the book knows, or that of the configuration.
func (b *ShelfBook) TrayOf(t ShelfTray) string {
	for _, id := range b.Containers() {
		if k, _ := b.Container(id); k.Bath == t.Bath {
			return id
		}
	}
	return t.Container
}

// ShelfEntry is what a person wants to have written into the book: an act, a note,
// or both, which are then kept together or not at all.
type ShelfEntry struct {
	Room    string // empty where the act belongs to no room
	Person  string
	Session string // empty takes the only one that is open
	// Happened is when it happened, for a late entry, and Reason why it is late; zero means now.
	Happened time.Time
	Reason   string
	Seen     uint64 // the last entry that the person had seen
	// Before is what has to be in the book before the act can be: a vessel that it pours into.
	Before []ledger.Act
	Act    ledger.Act
	Note   *ledger.RoomNote
}

// ErrWhyLate refuses a late entry that does not say why it is late.
var ErrWhyLate = phrase.Errorf("a late entry needs a reason: say in a few words why it is entered only now")

// ShelfReceipt says that an entry is kept, under which number, and what is to be known beside it.
type ShelfReceipt struct {
	Number   uint64
	Before   []uint64 // what was entered before it in the same press
	Late     bool
	Warnings []phrase.Sentence
}
