package audit

import (
	"context"
	"encoding/json"
	"slices"
	"sync"
	"time"

	"wetside/daemon/history"
	"wetside/dashboard/report"
	"wetside/rules"
	"wetside/rules/past"
	"wetside/sensors/quantity/phrase"
)

// Chronicle keeps what the record book tells of sessions, alarms and settings, so
// that a page that looks back need not read the book from its beginning each time.
// It reads on where it ended. Its methods may be called from any goroutine.
type Chronicle struct {
	book *history.Reader

	mu       sync.Mutex
	read     uint64 // the last record that was read
	evenings map[string]*evening
	order    []*evening
	lives    *lives
	settings past.Timeline
}

// NewChronicle reads nothing yet.
func NewChronicle(book *history.Reader) *Chronicle {
	return &Chronicle{book: book, evenings: map[string]*evening{}, lives: newLives()}
}

// Sitting is what a time held: sessions, alarms and the settings that bear on it.
type Sitting struct {
	Sessions []report.Session
	Alarms   []report.Alarm
	// Settings are the versions in force in the time, oldest first.
	Settings []past.Version
}

// Between gives what happened from From up to To in a room, or in every room when
// none is named. Now bounds what still goes on.
func (c *Chronicle) Between(ctx context.Context, room string, q Question) (Sitting, error) {
	c.mu.Lock()
	defer c.mu.Unlock()
	if err := c.readOn(ctx); err != nil {
		return Sitting{}, phrase.Errorf("reading the record book: %w", err)
	}
	var out Sitting
	touches := func(in string, from, to time.Time) bool {
		return (room == "" || in == room) && from.Before(q.To) && (to.IsZero() || to.After(q.From))
	}
	for i, e := range c.order {
		s := *e
		s.number, s.now = i+1, q.Now
		if r := s.report(); touches(r.Room, r.Begun, r.Ended) {
			out.Sessions = append(out.Sessions, r)
		}
	}
	for _, a := range c.lives.alarms {
		if touches(a.Room, a.Raised, a.Cleared) {
			out.Alarms = append(out.Alarms, *a)
		}
	}
	versions := c.settings.Versions
	for i, v := range versions {
		if v.At.Before(q.To) && (i+1 == len(versions) || versions[i+1].At.After(q.From)) {
			out.Settings = append(out.Settings, v)
		}
	}
	if len(out.Settings) == 0 && len(versions) > 0 {
		out.Settings = versions[:1]
	}
	return out, nil
}

// readOn takes the records that were written since the last time.
func (c *Chronicle) readOn(ctx context.Context) error {
	kinds := append(past.SettingsKinds(), rules.AlarmChange, rules.SessionPhase, rules.SessionCounts)
	for r, err := range c.book.EachRecord(ctx, history.Query{Kinds: kinds, AfterNumber: c.read}) {
		if err != nil {
			return err
		}
		if err := c.take(r); err != nil {
			return err
		}
		c.read = r.Number
	}
	slices.SortStableFunc(c.order, func(a, b *evening) int { return a.last.Begun.Compare(b.last.Begun) })
	return nil
}

func (c *Chronicle) take(r history.Record) error {
	if slices.Contains(past.SettingsKinds(), r.Kind) {
		return c.settings.Apply(told(r))
	}
	var e rules.Event
	switch err := json.Unmarshal(r.Content, &e); {
	case err != nil:
	case e.Alarm != nil:
		c.lives.step(r, e)
	case e.Session != nil && !e.Session.Begun.IsZero():
		key := r.Room + " " + e.Session.Begun.Format(time.RFC3339Nano)
		s, known := c.evenings[key]
		if !known {
			s = &evening{room: r.Room}
			if n := len(c.settings.Versions); n > 0 {
				s.settled = &c.settings.Versions[n-1]
			}
			c.evenings[key], c.order = s, append(c.order, s)
		}
		s.take(*e.Session, r.Number)
	}
	return nil
}
