package daemon

import (
	"context"
	"encoding/json"
	"errors"
	"strings"
	"sync"
	"time"

	"go.uber.org/zap"

	"wetside/chem/ledger"
	"wetside/daemon/history"
	"wetside/dashboard/cards"
	shelfpage "wetside/dashboard/shelf"
	"wetside/rules/access"
	"wetside/sensors"
	"wetside/sensors/quantity/phrase"
)

// shelf owns the one book of chemistry of a site. An entry goes from its check to
// its record to its effect, one at a time; pages read the book in between.
type shelf struct {
	clock sensors.Clock
	store *history.Store
	log   *zap.Logger
	site  *site
	// doing lets one entry through at a time, from its check to its effect.
	doing chan struct{}

	ready  chan struct{} // closed once the book is read
	stop   context.CancelFunc
	broken error // why it could not be

	mu        sync.RWMutex // over what follows; only the holder of doing writes
	settings  ledger.Settings
	zone      *time.Location // in which the book tells times
	trays     []cards.ShelfTray
	ledger    *ledger.Ledger
	kept      []*ledger.Ledger // as it was after every so many entries
	since     int              // entries since the last of them
	records   []cards.ShelfRecord
	found     map[string]ledger.RoomNote
	left      map[string]ledger.RoomNote
	read      uint64                   // the last record of the book that was looked at
	emergence map[string]chemEmergence // by container
}

var _ shelfpage.Shelf = (*shelf)(nil)

func newShelf(o Options, store *history.Store, s *site) *shelf {
	return &shelf{clock: o.Clock, store: store, log: o.Log.Named("shelf"), site: s, doing: make(chan struct{}, 1), ready: make(chan struct{}), stop: func() {},
		found: map[string]ledger.RoomNote{}, left: map[string]ledger.RoomNote{}}
}

// Look lets a page read the book as it stands.
func (s *shelf) Look(page func(*cards.ShelfBook)) {
	<-s.ready
	s.mu.RLock()
	defer s.mu.RUnlock()
	page(&cards.ShelfBook{Ledger: s.ledger, At: s.clock.Now().Wall.In(s.zone), Catalogue: s.ledger.Catalogue(),
		Records: s.records, Trays: s.trays, Found: s.found, Left: s.left})
}

// Shelf is the book of chemistry of the site; see [shelf.Shelf].
func (d *Daemon) Shelf() shelfpage.Shelf { return d.site.shelf }

// ShelfEntry is what somebody wants to have written into the book of the shelf.
type ShelfEntry = cards.ShelfEntry

// Enter hands an entry to the shelf; see [shelf.Shelf].
func (d *Daemon) Enter(ctx context.Context, e ShelfEntry) (cards.ShelfReceipt, error) {
	return d.site.shelf.Enter(ctx, e)
}

// Enter takes an entry, and has the room set up where the entry opens a session.
func (s *shelf) Enter(ctx context.Context, e cards.ShelfEntry) (cards.ShelfReceipt, error) {
	receipt, err := s.enter(ctx, e)
	if err == nil {
		s.startInRoom(context.WithoutCancel(ctx), e)
	}
	return receipt, err
}

// enter takes an entry from its check to its record to its effect.
func (s *shelf) enter(ctx context.Context, e cards.ShelfEntry) (cards.ShelfReceipt, error) {
	ctx, cancel := context.WithTimeout(ctx, 10*time.Second)
	defer cancel()
	release, err := s.take(ctx)
	if err != nil {
		return cards.ShelfReceipt{}, err
	}
	defer release()
	e.Person = strings.TrimSpace(e.Person)
	if e.Person == "" {
		return cards.ShelfReceipt{}, phrase.Errorf("your name is missing: fill it in")
	}
	if e.Act != nil {
		if err := access.Allow(ctx, ledger.LeastFor(e.Act)); err != nil {
			return cards.ShelfReceipt{}, err
		}
	}
	warnings, err := s.check(ctx, e)
	if err != nil {
		return cards.ShelfReceipt{}, err
	}
	receipt, err := s.record(ctx, e)
	receipt.Warnings = warnings
	return receipt, err
}

// take waits for the book and for the turn of an entry.
func (s *shelf) take(ctx context.Context) (release func(), err error) {
	select {
	case <-s.ready:
	case <-ctx.Done():
		return nil, phrase.Errorf("the book of the shelf is still being read: try again in a moment")
	}
	if s.broken != nil {
		return nil, phrase.Errorf("the book of the shelf can't be read, so nothing can be entered: %w", s.broken)
	}
	select {
	case s.doing <- struct{}{}:
		return func() { <-s.doing }, nil
	case <-ctx.Done():
		return nil, phrase.Errorf("another entry is still being written: try again")
	}
}

// entry is what the ledger is to take, as things stand now.
func (s *shelf) entry(e cards.ShelfEntry) ledger.Entry {
	now := s.clock.Now().Wall.In(s.zone).Truncate(time.Millisecond)
	out := ledger.Entry{At: now, Entered: now, By: e.Person, Session: e.Session, Seen: e.Seen, Act: e.Act}
	if !e.Happened.IsZero() {
		out.At = e.Happened.In(s.zone).Truncate(time.Millisecond)
	}
	return out
}

// check asks the ledger, after what is in the book but was not yet taken. A tray
// of the configuration that the book does not know is given its name first.
func (s *shelf) check(ctx context.Context, e cards.ShelfEntry) ([]phrase.Sentence, error) {
	s.mu.Lock()
	err := s.catchUp(ctx)
	s.mu.Unlock()
	if err != nil || e.Act == nil {
		return nil, err
	}
	entry := s.entry(e)
	if s.ledger.Late(entry) && strings.TrimSpace(e.Reason) == "" {
		return nil, cards.ErrWhyLate
	}
	if len(e.Before) > 0 {
		if err := s.enterBefore(ctx, e); err != nil {
			return nil, err
		}
		entry = s.entry(e)
		entry.Seen = s.ledger.Version()
	}
	err = s.ledger.Check(entry)
	if tray, unnamed := s.unnamed(e.Act); unnamed && errors.Is(err, ledger.ErrUnknown) {
		if err = s.nameTray(ctx, e, tray); err == nil {
			entry = s.entry(e) // now is later than the naming, which nobody has seen yet
			entry.Seen = s.ledger.Version()
			err = s.ledger.Check(entry)
		}
	}
	if err != nil {
		return nil, err
	}
	return s.ledger.Warnings(entry), nil
}

// enterBefore enters what an act needs, such as the bottle that it pours into.
func (s *shelf) enterBefore(ctx context.Context, e cards.ShelfEntry) error {
	for _, act := range e.Before {
		needed := e
		needed.Act, needed.Before, needed.Note, needed.Seen = act, nil, nil, 0
		if err := s.ledger.Check(s.entry(needed)); err != nil {
			return err
		}
		if _, err := s.record(ctx, needed); err != nil {
			return err
		}
	}
	return nil
}

// record writes the act and the note, both or neither, and then lets them hold.
func (s *shelf) record(ctx context.Context, e cards.ShelfEntry) (cards.ShelfReceipt, error) {
	entries, err := s.entries(e)
	if err != nil {
		return cards.ShelfReceipt{}, err
	}
	records, err := s.store.RecordAll(ctx, entries)
	if err != nil {
		return cards.ShelfReceipt{}, phrase.Errorf("nothing was recorded: %w", err)
	}
	// It is on record: its effect no longer depends on the patience of whoever asked.
	ctx = context.WithoutCancel(ctx)
	s.mu.Lock()
	err = s.catchUp(ctx)
	late := len(s.records) > 0 && e.Act != nil && s.ledger.Late(s.records[len(s.records)-1].Entry)
	if err == nil {
		s.emergence = s.emergences(ctx)
	}
	s.mu.Unlock()
	s.showInRooms(ctx)
	s.site.listeners.tell()
	return cards.ShelfReceipt{Number: records[0].Number, Late: late}, err
}

// entries are the records of an entry: of its act, of its note.
func (s *shelf) entries(e cards.ShelfEntry) ([]history.Entry, error) {
	var entries []history.Entry
	if e.Act != nil {
		act, err := ledger.EncodeAct(e.Act)
		if err != nil {
			return nil, err
		}
		content, err := json.Marshal(ledger.Content{Session: e.Session, Act: act})
		if err != nil {
			return nil, phrase.Errorf("the entry can't be written down: %w", err)
		}
		entry := history.Entry{Kind: e.Act.Kind(), Room: e.Room, Person: e.Person, Content: content, Happened: e.Happened, Reason: strings.TrimSpace(e.Reason)}
		if c, ok := e.Act.(ledger.Correction); ok {
			entry.Corrects, entry.Reason = c.Of, c.Reason
		}
		entries = append(entries, entry)
	}
	if e.Note != nil {
		content, err := json.Marshal(e.Note)
		if err != nil {
			return nil, phrase.Errorf("the note can't be written down: %w", err)
		}
		entries = append(entries, history.Entry{Kind: e.Note.Kind, Room: e.Room, Person: e.Person, Content: content})
	}
	return entries, nil
}
