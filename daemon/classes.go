package daemon

import (
	"cmp"
	"context"
	"fmt"
	"slices"

	"go.uber.org/zap"

	"wetside/chem/ledger"
	"wetside/dashboard/cards"
	"wetside/rules"
	"wetside/rules/session"
)

// A class has one session, whoever opens it first: the instructor on the board or the
// volunteer at set-up. The room and the book of the shelf know it by the same name.

// startClass opens the session of a room, and in the book of the shelf the same one
// unless the set-up has opened it already.
func (s *site) startClass(ctx context.Context, r *room, c rules.Command) (rules.Receipt, error) {
	start, ok := c.Act.(rules.StartSession)
	if !ok {
		return r.do(ctx, c)
	}
	var opened bool
	start.Session, opened = s.shelf.class(c.Room)
	c.Act = start
	receipt, err := r.do(ctx, c)
	if err != nil || opened {
		return receipt, err
	}
	entry := cards.ShelfEntry{Room: c.Room, Person: c.Person,
		Act: ledger.SessionOpened{Session: start.Session, Title: cmp.Or(start.Title, start.Session), Lead: c.Person}}
	if _, err := s.shelf.enter(ctx, entry); err != nil {
		r.log.Warn("the session of the room is not in the book of the shelf", zap.Error(err))
	}
	return receipt, nil
}

// class is the name of the session that is open in a room by the book of the shelf, or
// one that is still free.
func (s *shelf) class(room string) (id string, open bool) {
	b := s.Book()
	for _, r := range slices.Backward(b.Records) {
		opened, is := r.Act.(ledger.SessionOpened)
		if !is || r.Room != room {
			continue
		}
		if known, ok := b.Session(opened.Session); ok && known.Closed.IsZero() {
			return known.ID, true
		}
	}
	for n, taken := 1, true; taken; n++ {
		id = fmt.Sprintf("%s session %d", room, n)
		_, taken = b.Session(id)
	}
	return id, false
}

// runsOn says whether a room is in the midst of a session that has not ended in the book. One that has lasts
// until the room is aired, or until no tray is filled any more, unless the next begins.
func (s *shelf) runsOn(r *room) bool {
	running := r.shown.Load().Session
	known, ok := s.Book().Session(running.Counted.ID)
	return running.Phase.Running() && ok && known.Closed.IsZero()
}

// startInRoom has a room set up for the session that was just opened at its shelf. A
// session that runs in the room already goes on, and one that is entered late is over.
func (s *shelf) startInRoom(ctx context.Context, e cards.ShelfEntry) {
	opened, is := e.Act.(ledger.SessionOpened)
	if !is || e.Room == "" || !e.Happened.IsZero() {
		return
	}
	r, err := s.site.room(e.Room)
	if err != nil {
		return
	}
	if s.runsOn(r) {
		return
	}
	start := rules.StartSession{Phase: session.SetUp, Entry: session.Entry{Title: opened.Title, Session: opened.Session}}
	if r.shown.Load().Session.Phase == session.Open { // its trays are filled: what nobody named goes on, what has ended gives way
		start.Phase = session.Open
	}
	if _, err := r.do(ctx, rules.Command{Room: e.Room, Person: e.Person, Act: start}); err != nil {
		r.log.Warn("the room was not set up for the session of the shelf", zap.Error(err))
	}
}
