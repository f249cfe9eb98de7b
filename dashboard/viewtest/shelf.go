package viewtest

import (
	"errors"
	"slices"
	"time"

	"wetside/chem/ledger"
	"wetside/dashboard/cards"
	"wetside/dashboard/shelf"
	"wetside/dashboard/web"
	"wetside/sensors"
)

// Shelf is the book of chemistry that pages are given, with the ledger itself behind it. Nobody enters
// anything by it: forms are tested on a whole daemon.
type Shelf struct {
	shelf.Shelf
	clock   sensors.Clock
	book    *ledger.Ledger
	records []cards.ShelfRecord
	trays   []cards.ShelfTray
	zone    *time.Location
}

var _ shelf.Shelf = (*Shelf)(nil)

// NewShelf is an empty book for the room of a scene, with a catalogue of products.
func NewShelf(clock sensors.Clock, scene *Scene, settings ledger.Settings) *Shelf {
	zone, err := time.LoadLocation("Europe/Vienna")
	if err != nil {
		zone = time.UTC
	}
	s := &Shelf{clock: clock, zone: zone, book: ledger.New(settings)}
	for _, b := range scene.Room.Baths {
		s.trays = append(s.trays, cards.ShelfTray{Room: scene.Room.ID, Bath: b.ID, Name: b.Name, Role: b.Role, Container: b.Name + " tray"})
	}
	return s
}

// Names are the people who wrote into the book last.
func (s *Shelf) Names() []string { return cards.LastNames(s.records) }

// Book is a book that nobody changes any more.
func (s *Shelf) Book() *cards.ShelfBook {
	return &cards.ShelfBook{Ledger: s.book.Copy(), At: s.now(), Catalogue: s.book.Catalogue(), Records: slices.Clone(s.records),
		Trays: s.trays, Found: map[string]ledger.RoomNote{}, Left: map[string]ledger.RoomNote{}}
}

// Write puts what Ada did just now into the book. A tray of the room is named when it is first poured into.
func (s *Shelf) Write(act ledger.Act) error {
	if errors.Is(s.book.Check(s.entry(act)), ledger.ErrUnknown) {
		for _, t := range s.trays {
			named := s.entry(ledger.ContainerNamed{Container: t.Container, Vessel: ledger.Tray, Capacity: 20000, Bath: t.Bath})
			if s.book.Check(named) == nil {
				_ = s.take(named) // it was checked
			}
		}
	}
	return s.take(s.entry(act))
}

func (s *Shelf) now() time.Time { return s.clock.Now().Wall.In(s.zone).Truncate(time.Millisecond) }

func (s *Shelf) entry(act ledger.Act) ledger.Entry {
	return ledger.Entry{At: s.now(), Entered: s.now(), By: "Ada", Number: uint64(len(s.records) + 1), Act: act}
}

func (s *Shelf) take(e ledger.Entry) error {
	if err := s.book.Apply(e); err != nil {
		return err
	}
	s.records = append(s.records, cards.ShelfRecord{Entry: e, Room: s.trays[0].Room})
	return nil
}

// Read sets the units in which people read.
func (v *View) Read(units web.Units) {
	v.mu.Lock()
	defer v.mu.Unlock()
	v.site.Units = units
}
