package daemon

import (
	"cmp"
	"context"
	"encoding/json"
	"maps"
	"slices"
	"time"

	"go.uber.org/zap"

	"wetside/chem/ledger"
	"wetside/daemon/config"
	"wetside/dashboard/cards"
	"wetside/rules"
	"wetside/rules/record"
)

// chemistry is the book of chemistry with what the site says beside it. Only the loop of the
// shelf changes one, its own; a book that was shown stays as it is.
type chemistry struct {
	settings    ledger.Settings
	zone        *time.Location // in which the book tells times
	trays       []cards.ShelfTray
	ledger      *ledger.Ledger
	records     []cards.ShelfRecord
	found, left map[string]ledger.RoomNote
	read        uint64                   // the last record of the book that was looked at
	emergence   map[string]chemEmergence // by container
	unread      error                    // why the records could not be read
}

func newChemistry(c config.Config) *chemistry {
	b := &chemistry{found: map[string]ledger.RoomNote{}, left: map[string]ledger.RoomNote{}}
	b.configure(c, zap.NewNop()) // no record was read yet that could be passed over
	return b
}

// configure takes the settings of a configuration; what was read already is taken over.
func (b *chemistry) configure(c config.Config, log *zap.Logger) {
	b.settings = ledger.Settings{Catalogue: c.Catalogue, People: c.People}
	b.trays, b.zone = traysOf(c), c.Zone
	if b.zone == nil {
		b.zone = time.UTC
	}
	b.ledger = ledger.New(b.settings)
	b.fold(entriesOf(b.records), log)
}

// traysOf lists the baths of every room in pouring order. A tray is named after
// its bath, and after its room where there are several.
func traysOf(c config.Config) []cards.ShelfTray {
	var trays []cards.ShelfTray
	for _, r := range c.Rooms {
		for _, id := range r.Pouring {
			at := slices.IndexFunc(r.Baths, func(b rules.Bath) bool { return b.ID == id })
			b := r.Baths[at]
			tray := cards.ShelfTray{Room: r.ID, Bath: b.ID, Name: b.Name, Role: b.Role, Container: b.Name + " tray"}
			if len(c.Rooms) > 1 {
				tray.Container += ", " + r.Name
			}
			trays = append(trays, tray)
		}
	}
	return trays
}

// copy is the book as it is now. What either of the two takes later is not in the other.
func (b *chemistry) copy() *chemistry {
	c := *b
	c.ledger, c.records = b.ledger.Copy(), slices.Clip(b.records)
	c.found, c.left = maps.Clone(b.found), maps.Clone(b.left)
	return &c
}

func (b *chemistry) page(now time.Time) *cards.ShelfBook {
	return &cards.ShelfBook{Ledger: b.ledger, At: now.In(b.zone), Catalogue: b.ledger.Catalogue(),
		Records: b.records, Trays: b.trays, Found: b.found, Left: b.left}
}

// mostRefusals is after how many entries that make no sense the rest is taken one by one.
const mostRefusals = 10

// fold takes entries into the ledger; one that no longer makes sense is passed over.
func (b *chemistry) fold(fresh []ledger.Entry, log *zap.Logger) {
	for tries := 0; len(fresh) > 0; tries++ {
		batch := fresh
		if tries > mostRefusals {
			batch = fresh[:1] // a book that is full of what no longer makes sense is taken entry by entry
		}
		err := b.ledger.Replay(batch)
		if err == nil {
			fresh = fresh[len(batch):]
			continue
		}
		refused := slices.IndexFunc(fresh, func(e ledger.Entry) bool { return e.Number > b.ledger.Version() })
		log.Error("a record of the shelf no longer makes sense and is skipped", zap.Uint64("record", fresh[refused].Number), zap.Error(err))
		fresh = fresh[refused+1:]
	}
}

// recall turns a record back into an entry; notes and records of others are none.
func (b *chemistry) recall(rec record.Record, log *zap.Logger) (ledger.Entry, bool) {
	b.read = rec.Number
	if rec.Kind == ledger.RoomFound || rec.Kind == ledger.NoteLeft {
		b.keepNote(rec)
		return ledger.Entry{}, false
	}
	content, err := ledger.Read(rec.Kind, rec.Content)
	if err != nil {
		log.Error("a record of the shelf can't be read and is skipped", zap.Uint64("record", rec.Number), zap.Error(err))
		return ledger.Entry{}, false
	}
	e := ledger.Entry{Number: rec.Number, At: rec.When().In(b.zone), Entered: rec.At.In(b.zone), By: rec.Person, Session: content.Session,
		Act: content.Act}
	b.records = append(b.records, cards.ShelfRecord{Entry: e, Room: rec.Room, Reason: rec.Reason})
	return e, true
}

func (b *chemistry) keepNote(rec record.Record) {
	var n ledger.RoomNote
	if err := json.Unmarshal(rec.Content, &n); err != nil {
		return
	}
	n.Kind, n.Room, n.Number, n.By, n.At = rec.Kind, rec.Room, rec.Number, rec.Person, rec.At
	if rec.Kind == ledger.RoomFound {
		b.found[rec.Room] = n
		return
	}
	b.left[rec.Room] = n
}

func entriesOf(records []cards.ShelfRecord) []ledger.Entry {
	entries := make([]ledger.Entry, len(records))
	for i, r := range records {
		entries[i] = r.Entry
	}
	return entries
}

// asOf is the book as it stood at a moment, with what had been entered by then; what was
// known of the emergence of an image it leaves out.
func (b *chemistry) asOf(at time.Time, log *zap.Logger) *chemistry {
	then := &chemistry{settings: b.settings, zone: b.zone, trays: b.trays}
	n := slices.IndexFunc(b.records, func(r cards.ShelfRecord) bool { return r.Entered.After(at) })
	if n < 0 {
		n = len(b.records)
	}
	then.records = b.records[:n:n]
	last := uint64(0)
	if n > 0 {
		last = then.records[n-1].Number
	}
	then.ledger = b.ledger.Near(last)
	since, _ := slices.BinarySearchFunc(then.records, then.ledger.Version()+1,
		func(r cards.ShelfRecord, number uint64) int { return cmp.Compare(r.Number, number) })
	then.fold(entriesOf(then.records[since:]), log)
	return then
}

// inRoomAt is what the book said of the trays of a room at a moment.
func (s *shelf) inRoomAt(ctx context.Context, room string, at time.Time) rules.Trays {
	<-s.ready
	then := s.shown.Load().asOf(at, s.log)
	then.emergence = s.emergences(ctx, then)
	return then.inRoom(room, at)
}
