package audit

import (
	"context"
	"slices"
	"sync"
	"time"

	"wetside/daemon/history"
	"wetside/dashboard/report"
	"wetside/rules/alarm"
	"wetside/rules/coverage"
	"wetside/rules/past"
	"wetside/rules/session"
	"wetside/sensors/quantity/phrase"
)

// Chronicle keeps what the record book tells of sessions, alarms and settings, so
// that a page that looks back need not read the book from its beginning each time.
// It reads on where it ended. Its methods may be called from any goroutine.
type Chronicle struct {
	book *history.Reader

	mu   sync.Mutex
	fold past.Fold
	// read is the newest record of the book when it was read last.
	read uint64
	// unread says that what was kept of the book was no fold: later records alone make none.
	unread bool
}

// NewChronicle reads nothing yet.
func NewChronicle(book *history.Reader) *Chronicle { return &Chronicle{book: book} }

// Sitting is what a time held: sessions, alarms and the settings that bear on it.
type Sitting struct {
	Sessions []report.Session
	Alarms   []report.Alarm
	// Settings are the versions in force in the time, oldest first.
	Settings []past.Version
}

// Between gives what happened from From up to To in a room, or in every room when
// none is named. Now bounds what still goes on.
func (c *Chronicle) Between(ctx context.Context, room string, q Question) (out Sitting, err error) {
	err = c.look(ctx, func(f *past.Fold) {
		out.Sessions = sessionsOf(f, room, q)
		alarms := f.Alarms(coverage.Span{From: q.From, To: q.To}, slices.MaxFunc([]time.Time{q.To, q.Now}, time.Time.Compare))
		out.Alarms = make([]report.Alarm, 0, len(alarms))
		for _, a := range alarms {
			if room == "" || a.Room == room {
				out.Alarms = append(out.Alarms, alarmOf(a))
			}
		}
		out.Settings = f.Settings.Between(q.From, q.To)
	})
	return out, err
}

// Sessions gives those of [Chronicle.Between] alone: to look through the alarms of ten years takes ten times as long.
func (c *Chronicle) Sessions(ctx context.Context, room string, q Question) (list []report.Session, err error) {
	err = c.look(ctx, func(f *past.Fold) { list = sessionsOf(f, room, q) })
	return list, err
}

func sessionsOf(f *past.Fold, room string, q Question) (list []report.Session) {
	for i, e := range f.Evenings(coverage.Span{From: q.From, To: q.To}, q.Now) {
		e = e.Live(q.Live[e.Room])
		if s := e.Span(); (room == "" || e.Room == room) && s.From.Before(q.To) && s.To.After(q.From) {
			list = append(list, sessionOf(e, i+1))
		}
	}
	return list
}

// Settings gives the versions of the settings in force between two moments, oldest first.
func (c *Chronicle) Settings(ctx context.Context, from, to time.Time) (list []past.Version, err error) {
	err = c.look(ctx, func(f *past.Fold) { list = f.Settings.Between(from, to) })
	return list, err
}

// Up gives the alarms of a room that people were told of at a moment, one that waited for an
// answer among them.
func (c *Chronicle) Up(ctx context.Context, room string, at time.Time) (list []report.Alarm, err error) {
	err = c.look(ctx, func(f *past.Fold) {
		for _, a := range f.Up(room, at) {
			list = append(list, alarmOf(a))
		}
	})
	return list, err
}

// AirAt is the state of the air of a room that was in force at a moment; empty where none is known.
func (c *Chronicle) AirAt(ctx context.Context, room string, at time.Time) (state phrase.Sentence, err error) {
	err = c.look(ctx, func(f *past.Fold) {
		if states := f.Air(room, coverage.Span{From: at, To: at.Add(time.Millisecond)}); len(states) > 0 {
			state = states[0].State.Said()
		}
	})
	return state, err
}

// look shows what the book tells by now.
func (c *Chronicle) look(ctx context.Context, at func(*past.Fold)) error {
	c.mu.Lock()
	defer c.mu.Unlock()
	if err := c.readOn(ctx); err != nil {
		return phrase.Errorf("reading the record book: %w", err)
	}
	at(&c.fold)
	return nil
}

// readOn takes the records that were written since the last time. Mostly there are none, which the
// newest number says at a quarter of the cost of a search by kinds.
func (c *Chronicle) readOn(ctx context.Context) error {
	newest, err := c.book.Newest(ctx)
	if err != nil || newest.Number == c.read {
		return err
	}
	for r, err := range c.book.EachTold(ctx, history.Query{Kinds: past.Kinds(), AfterNumber: c.fold.Last()}) {
		if err != nil {
			return err
		}
		if err := c.fold.Apply(r); err != nil {
			return err
		}
	}
	c.read = newest.Number
	return nil
}

// last is the number of the last record that was taken.
func (c *Chronicle) last() uint64 {
	c.mu.Lock()
	defer c.mu.Unlock()
	return c.fold.Last()
}

// Running are the sessions under way, by room, with the counts of this moment.
type Running map[string]session.Session

func alarmOf(a past.RoomAlarm) report.Alarm {
	t := a.Raised
	out := report.Alarm{Room: a.Room, ID: t.ID, Text: t.Alarm.Text, Cause: t.Cause.String(), Urgent: t.Alarm.Urgent, Raised: t.At.Wall,
		Record:   t.Record,
		Answered: a.Answered, By: a.Seen().String(), Done: a.Done, Cleared: a.Cleared, Ended: a.Ended, Dropped: a.Unanswered == alarm.Rests}
	if a.Answered.IsZero() {
		out.Why = a.Unanswered.Said()
	}
	return out
}

// asideOf is an alarm that a person put aside, as a report tells it.
func asideOf(a past.RoomAside) report.Aside {
	t := a.Since
	return report.Aside{Room: a.Room, ID: t.ID, State: t.To.Said(), By: t.Alarm.By, Why: t.Alarm.Note, From: t.At.Wall, Back: a.Back,
		Record: t.Record}
}

// evening is a session of a report, by its number in it.
type evening struct {
	past.Evening
	number int
}

func sessionOf(e past.Evening, number int) report.Session {
	n := e.Last
	out := report.Session{Number: number, Room: e.Room, Title: n.Title, Leader: n.Leader, People: n.People, Begun: n.Begun,
		Ended: e.Span().To, Running: n.Phase.Running(),
		Uncovered: n.Tally.Trays.Open, Unproven: n.Tally.Trays.Unproven, TrayUnproven: n.Tally.Trays.TrayUnproven,
		FlowKnown: n.Tally.Known, FlowProven: n.Tally.FanTime, Record: e.Record}
	if at, runs := e.AsOf(); runs {
		out.AsOf = at
	}
	if room, known := e.Then(); known {
		if demand, err := room.Demand(n.Begun); err == nil {
			changes := float64(demand.AirChanges)
			out.Required = &changes
		}
	}
	return out
}
