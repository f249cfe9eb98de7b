package daemon

import (
	"context"
	"encoding/json"
	"slices"
	"time"

	"go.uber.org/zap"

	"wetside/chem/ledger"
	"wetside/daemon/config"
	"wetside/daemon/history"
	"wetside/dashboard/cards"
	"wetside/rules"
	"wetside/sensors/quantity/phrase"
)

// firstPatience is how long a start waits for the book of the shelf. A book of many
// years is read on beside it; its pages wait until then.
const firstPatience = 50 * time.Millisecond

// start reads the whole book, once, in a goroutine that end waits for.
func (s *shelf) start(ctx context.Context, c config.Config) error {
	ctx, s.stop = context.WithCancel(context.WithoutCancel(ctx))
	s.configure(c)
	go func() {
		defer close(s.ready)
		s.mu.Lock()
		err := s.catchUp(ctx)
		s.broken = err
		s.mu.Unlock()
		if err != nil && ctx.Err() == nil {
			s.log.Error("the book of the shelf can't be read", zap.Error(err))
		}
	}()
	select {
	case <-s.ready:
	case <-time.After(firstPatience):
		s.log.Info("the book of the shelf is long and is being read on")
		return nil
	}
	if s.broken != nil {
		return phrase.Errorf("the book of the shelf can't be read: %w", s.broken)
	}
	return nil
}

// end stops a reading that is still under way.
func (s *shelf) end() {
	s.stop()
	<-s.ready
}

// configure takes the settings of a configuration; what was read already is taken over.
func (s *shelf) configure(c config.Config) {
	s.mu.Lock()
	defer s.mu.Unlock()
	s.settings = ledger.Settings{Catalogue: c.Catalogue, People: c.People}
	s.trays, s.zone = traysOf(c), c.Zone
	if s.zone == nil {
		s.zone = time.UTC
	}
	s.ledger, s.kept, s.since = ledger.New(s.settings), nil, 0
	s.replay(entriesOf(s.records))
}

// settle gives rooms whose loops don't run yet what stands in their trays. What is
// not read yet is shown once it is.
func (s *shelf) settle(ctx context.Context, rooms []*room) {
	select {
	case <-s.ready:
	default:
		return
	}
	s.mu.Lock()
	s.emergence = s.emergences(ctx)
	s.mu.Unlock()
	for _, r := range rooms {
		r.board.Shelf = s.inRoom(r.config.ID)
		r.showFirst()
	}
}

// show waits for a book that is still being read, and then shows it in the rooms.
func (s *shelf) show(ctx context.Context) {
	select {
	case <-s.ready:
	case <-ctx.Done():
		return
	}
	s.mu.Lock()
	s.emergence = s.emergences(ctx)
	s.mu.Unlock()
	s.showInRooms(ctx)
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

// mostRefusals is after how many entries that make no sense the rest is taken one by one.
const mostRefusals = 10

// catchUp takes the records of the book that were not looked at yet. A record
// that no longer makes sense stays in the book, is told to the log and passed over.
func (s *shelf) catchUp(ctx context.Context) error {
	var fresh []ledger.Entry
	kinds := append(ledger.KindNames(), ledger.RoomFound, ledger.NoteLeft)
	for rec, err := range s.store.EachTold(ctx, history.Query{Kinds: kinds, AfterNumber: s.read}) {
		if err != nil {
			return err
		}
		s.read = rec.Number
		if e, ok := s.recall(rec); ok {
			fresh = append(fresh, e)
		}
	}
	s.replay(fresh)
	return nil
}

// fold takes entries into the ledger; one that no longer makes sense is passed over.
func (s *shelf) fold(fresh []ledger.Entry) {
	for tries := 0; len(fresh) > 0; tries++ {
		batch := fresh
		if tries > mostRefusals {
			batch = fresh[:1] // a book that is full of what no longer makes sense is taken entry by entry
		}
		err := s.ledger.Replay(batch)
		if err == nil {
			fresh = fresh[len(batch):]
			continue
		}
		refused := slices.IndexFunc(fresh, func(e ledger.Entry) bool { return e.Number > s.ledger.Version() })
		s.log.Error("a record of the shelf no longer makes sense and is passed over", zap.Uint64("record", fresh[refused].Number), zap.Error(err))
		fresh = fresh[refused+1:]
	}
}

// recall turns a record back into an entry; notes and records of others are none.
func (s *shelf) recall(rec rules.Recorded) (ledger.Entry, bool) {
	if rec.Kind == ledger.RoomFound || rec.Kind == ledger.NoteLeft {
		s.keepNote(rec)
		return ledger.Entry{}, false
	}
	var content ledger.Content
	if json.Unmarshal(rec.Content, &content) != nil || content.Act == nil {
		return ledger.Entry{}, false
	}
	act, err := ledger.DecodeAct(rec.Kind, content.Act)
	if err != nil {
		s.log.Error("a record of the shelf can't be read and is passed over", zap.Uint64("record", rec.Number), zap.Error(err))
		return ledger.Entry{}, false
	}
	e := ledger.Entry{Number: rec.Number, At: rec.At.In(s.zone), Entered: rec.At.In(s.zone), By: rec.Person, Session: content.Session, Act: act}
	if !rec.Happened.IsZero() {
		e.At = rec.Happened.In(s.zone)
	}
	s.records = append(s.records, cards.ShelfRecord{Entry: e, Room: rec.Room, Reason: rec.Reason})
	return e, true
}

func (s *shelf) keepNote(rec rules.Recorded) {
	var n ledger.RoomNote
	if err := json.Unmarshal(rec.Content, &n); err != nil {
		return
	}
	n.Kind, n.Room, n.Number, n.By, n.At = rec.Kind, rec.Room, rec.Number, rec.Person, rec.At
	if rec.Kind == ledger.RoomFound {
		s.found[rec.Room] = n
		return
	}
	s.left[rec.Room] = n
}
