package viewtest

import (
	"context"
	"errors"
	"slices"
	"sync"
	"time"

	"wetside/chem/ledger"
	"wetside/dashboard/cards"
	"wetside/dashboard/shelf"
	"wetside/dashboard/web"
	"wetside/sensors"
)

// Shelf is a book of chemistry in memory, with the ledger itself behind it. What
// is entered holds at once; nothing is kept.
type Shelf struct {
	mu       sync.Mutex
	clock    sensors.Clock
	settings ledger.Settings
	book     *ledger.Ledger
	records  []cards.ShelfRecord
	notes    [2]map[string]ledger.RoomNote // as found, as left
	trays    []cards.ShelfTray
	number   uint64
	broken   error
	zone     *time.Location
}

var _ shelf.Shelf = (*Shelf)(nil)

// NewShelf is an empty book for the room of a scene, with a catalogue of products.
func NewShelf(clock sensors.Clock, scene *Scene, settings ledger.Settings) *Shelf {
	zone, err := time.LoadLocation("Europe/Vienna")
	if err != nil {
		zone = time.UTC
	}
	s := &Shelf{clock: clock, settings: settings, zone: zone, book: ledger.New(settings), notes: [2]map[string]ledger.RoomNote{{}, {}}}
	for _, b := range scene.Room.Baths {
		s.trays = append(s.trays, cards.ShelfTray{Room: scene.Room.ID, Bath: b.ID, Name: b.Name, Role: b.Role, Container: b.Name + " tray"})
	}
	return s
}

// Break lets every entry fail with an error; nil mends it.
func (s *Shelf) Break(err error) {
	s.mu.Lock()
	defer s.mu.Unlock()
	s.broken = err
}

// Names are the people who wrote into the book last.
func (s *Shelf) Names() []string {
	s.mu.Lock()
	defer s.mu.Unlock()
	return cards.LastNames(s.records)
}

// Look shows a test the book.
func (s *Shelf) Look(test func(*cards.ShelfBook)) { test(s.Book()) }

// Book is a book that nobody changes any more.
func (s *Shelf) Book() *cards.ShelfBook {
	s.mu.Lock()
	defer s.mu.Unlock()
	return &cards.ShelfBook{Ledger: s.book.Copy(), At: s.clock.Now().Wall.In(s.zone), Catalogue: s.book.Catalogue(),
		Records: slices.Clone(s.records), Trays: s.trays, Found: s.notes[0], Left: s.notes[1]}
}

// Enter takes an entry as the daemon would, without a disk.
func (s *Shelf) Enter(_ context.Context, e cards.ShelfEntry) (receipt cards.ShelfReceipt, err error) {
	s.mu.Lock()
	defer s.mu.Unlock()
	if err = s.broken; err == nil && e.Act != nil {
		receipt, err = s.enter(e)
	}
	if err == nil && e.Note != nil {
		s.note(e)
		receipt.Number = max(receipt.Number, 1)
	}
	return receipt, err
}

// enter takes an act after those that it needs. A tray of the room is named when it is first poured into.
func (s *Shelf) enter(e cards.ShelfEntry) (receipt cards.ShelfReceipt, err error) {
	if s.entry(e).Late() && e.Reason == "" {
		return receipt, cards.ErrWhyLate
	}
	for _, act := range e.Before {
		needed := e
		needed.Act, needed.Before, needed.Seen = act, nil, 0
		if _, err := s.enter(needed); err != nil {
			return receipt, err
		}
		e.Seen = s.book.Version()
	}
	if errors.Is(s.book.Check(s.entry(e)), ledger.ErrUnknown) {
		s.nameTrays(e)
		e.Seen = s.book.Version()
	}
	entry := s.entry(e)
	if err := s.book.Check(entry); err != nil {
		return receipt, err
	}
	receipt.Warnings, receipt.Late = s.book.Warnings(entry), entry.Late()
	receipt.Number, err = s.take(e, entry)
	return receipt, err
}

// note keeps what was found in a room, or left there.
func (s *Shelf) note(e cards.ShelfEntry) {
	s.number++
	n := *e.Note
	n.Room, n.By, n.At, n.Number = e.Room, e.Person, s.clock.Now().Wall, s.number
	kept := s.notes[0]
	if n.Kind == ledger.NoteLeft {
		kept = s.notes[1]
	}
	kept[e.Room] = n
}

func (s *Shelf) entry(e cards.ShelfEntry) ledger.Entry {
	now := s.clock.Now().Wall.In(s.zone).Truncate(time.Millisecond)
	out := ledger.Entry{At: now, Entered: now, By: e.Person, Session: e.Session, Seen: e.Seen, Act: e.Act}
	if !e.Happened.IsZero() {
		out.At = e.Happened.In(s.zone)
	}
	return out
}

func (s *Shelf) take(e cards.ShelfEntry, entry ledger.Entry) (uint64, error) {
	s.number++
	entry.Number = s.number
	if err := s.book.Apply(entry); err != nil {
		return 0, err
	}
	s.records = append(s.records, cards.ShelfRecord{Entry: entry, Room: e.Room, Reason: e.Reason})
	return s.number, nil
}

func (s *Shelf) nameTrays(e cards.ShelfEntry) {
	for _, t := range s.trays {
		named := e
		named.Act, named.Seen = ledger.ContainerNamed{Container: t.Container, Vessel: ledger.Tray, Capacity: 20000, Bath: t.Bath}, 0
		if entry := s.entry(named); s.book.Check(entry) == nil {
			_, _ = s.take(named, entry) // it was checked
		}
	}
}

// Read sets the units in which people read.
func (v *View) Read(units web.Units) {
	v.mu.Lock()
	defer v.mu.Unlock()
	v.site.Units = units
}
