package history

import (
	"context"
	"encoding/json"
	"errors"
	"fmt"
	"strings"
	"time"

	"wetside/daemon/history/book"
)

const (
	// The book is walked as a whole so long after a start, and then once a day.
	inspectFirst = 10 * time.Minute
	inspectEvery = 24 * time.Hour
	// inspectBatch is how many records are checked at a time, and inspectRest how many
	// times as long as that took the rest lasts, so that nothing else has to wait.
	inspectBatch = 200
	inspectRest  = 4
)

// inspect checks the book by itself until the store closes: at a start what came since
// the mark, later the whole chain.
func (s *Store) inspect() {
	from := book.Checkpoint{}
	if s.before != nil && !s.copied {
		from = s.before.checkpoint()
	}
	for wait := inspectFirst; ; wait = inspectEvery {
		_ = s.inspectAfter(from)
		select {
		case <-s.quiet:
			return
		case <-s.clock.After(wait):
			from = book.Checkpoint{}
		}
	}
}

// errParting ends an inspection because the store closes.
var errParting = errors.New("the store closes")

// CheckBook walks the whole chain of records in small steps with rests between them. The
// error is a [*book.Broken] where the book does not hold. Health tells of it too.
func (s *Store) CheckBook() error {
	return s.inspectAfter(book.Checkpoint{})
}

// Inspection is a walk through the whole chain of records since the start, all of which held:
// how far it came, and when it ended. The zero Inspection is none.
type Inspection struct {
	Last book.Checkpoint
	At   time.Time
}

// Inspected is the last inspection; none once the book was found not to hold.
func (s *Store) Inspected() Inspection {
	s.health.mu.Lock()
	defer s.health.mu.Unlock()
	return s.health.whole
}

// Before is the last record that was written before a moment and that an inspection went through,
// all of those before it too; zero where none is, or where this is not the book that was inspected.
func (s *Reader) Before(ctx context.Context, at time.Time, of Inspection) (number uint64, err error) {
	if of.Last.Number == 0 {
		return 0, nil
	}
	err = s.Holds(ctx, of.Last)
	if _, is := errors.AsType[*book.Broken](err); is {
		return 0, nil // a walk through all of it says what is wrong
	}
	if err != nil {
		return 0, err
	}
	err = s.view(ctx, func(v view) error { // by the sum the index of the times is used: that of the numbers passes over every text
		return v.row("SELECT coalesce(min(number + 0) - 1, ?) FROM record WHERE at_ms >= ?", of.Last.Number,
			at.UnixMilli()).Scan(&number)
	})
	return min(number, of.Last.Number), err
}

func (s *Store) inspectAfter(from book.Checkpoint) error {
	last, err := s.checkBook(from)
	s.health.inspected(err)
	s.health.mu.Lock()
	defer s.health.mu.Unlock()
	switch {
	case s.health.health.Broken != "":
		s.health.whole = Inspection{}
	case err == nil && from.Number == 0:
		s.health.whole = Inspection{last, s.clock.Now().Wall.UTC()}
	}
	return err
}

// checkBook gives how far the chain after a checkpoint holds.
func (s *Store) checkBook(from book.Checkpoint) (book.Checkpoint, error) {
	report, chain := Report{}, book.After(from)
	reached := s.last.Load()
	for {
		began := time.Now()
		n := 0
		err := s.view(context.Background(), func(v view) error {
			return report.walkOn(v, &chain, inspectBatch, func(r Record) error {
				n++
				return ownCheckpoint(v, r)
			})
		})
		switch {
		case err != nil:
			return chain.Last(), err
		case report.Broken != nil:
			return chain.Last(), report.Broken
		case n == 0 && reached != nil && chain.Last().Number < reached.Number:
			return chain.Last(), &book.Broken{Number: chain.Last().Number + 1,
				Why: fmt.Sprintf("the record is missing: the book reached record %d", reached.Number)}
		case n == 0:
			return chain.Last(), nil
		}
		select {
		case <-s.quiet:
			return chain.Last(), errParting
		case <-time.After(inspectRest * time.Since(began)):
		}
	}
}

// ownCheckpoint holds a checkpoint that a record carries, such as that of a backup or of
// a restored copy, against the record that the checkpoint names.
func ownCheckpoint(v view, r Record) error {
	c, carries := carried(r)
	if !carries {
		return nil
	}
	var hash string
	err := v.row("SELECT coalesce((SELECT hash FROM record WHERE number = ?), '')", c.Number).Scan(&hash)
	if err == nil && hash != c.Hash {
		err = &book.Broken{Number: c.Number, Why: fmt.Sprintf("record %d names the checkpoint %s, and the record has the hash %q", r.Number,
			c, hash)}
	}
	return err
}

func carried(r Record) (c book.Checkpoint, found bool) {
	text := string(r.Content)
	if r.Kind == KindRestored {
		var of copied
		err := json.Unmarshal(r.Content, &of)
		return book.Checkpoint{Number: of.Number, Hash: of.Hash}, err == nil && of.Number > 0
	}
	if !strings.Contains(text, `"checkpoint":`) {
		return c, false
	}
	var of struct {
		Checkpoint string `json:"checkpoint"`
	}
	if json.Unmarshal(r.Content, &of) != nil || of.Checkpoint == "" {
		return c, false
	}
	c, err := book.ParseCheckpoint(of.Checkpoint)
	return c, err == nil
}

// inspected notes what an inspection found. What could not be read says nothing of the book.
func (p *pulse) inspected(err error) {
	p.mu.Lock()
	defer p.mu.Unlock()
	broken, is := errors.AsType[*book.Broken](err)
	switch {
	case is:
		p.health.Broken = broken.Error()
	case err == nil:
		p.health.Broken = ""
	}
}
