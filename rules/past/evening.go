package past

import (
	"time"

	"wetside/rules"
	"wetside/rules/coverage"
	"wetside/rules/record"
	"wetside/rules/session"
)

// Evening is one session as the book tells it.
type Evening struct {
	Room string
	// Last is the session as it was recorded last, Record the number of that record.
	Last   session.Session
	Record uint64
	// Settled are the settings in force when it began; nil when none are known.
	Settled *Version
	// Known is how far time is known, such as now.
	Known time.Time
	// Closed are the times in which its phase was open that have ended, Opened the beginning of one that has not.
	Closed []coverage.Span
	Opened time.Time
}

// add goes on with the session by what is known of it.
func (e *Evening) add(now session.Session) {
	switch {
	case now.Phase == session.Open && e.Opened.IsZero():
		e.Opened = now.Since
	case now.Phase != session.Open && !e.Opened.IsZero():
		e.Closed = append(e.Closed, coverage.Span{From: e.Opened, To: now.Since})
		e.Opened = time.Time{}
	}
	e.Last = now
}

// countedEvery is how often the counts of a running session are recorded: so much
// later than its last record it may still run.
const countedEvery = 10 * time.Minute

// Span is from the beginning of the set-up to the close; of a session that still runs
// as far as is known.
func (e Evening) Span() coverage.Span {
	t := coverage.Span{From: e.Last.Begun, To: e.Last.Since}
	if e.Last.Phase.Running() {
		t.To = e.Last.Tally.To.Add(countedEvery)
		if e.Known.Before(t.To) {
			t.To = e.Known
		}
	}
	return t
}

// Open are the times in which its phase was open.
func (e Evening) Open() []coverage.Span {
	if e.Opened.IsZero() {
		return e.Closed
	}
	return append(e.Closed[:len(e.Closed):len(e.Closed)], coverage.Span{From: e.Opened, To: e.Span().To})
}

// Then is the room by the settings in force when the session began.
func (e Evening) Then() (Room, bool) {
	if e.Settled == nil {
		return Room{}, false
	}
	return e.Settled.Room(e.Room)
}

// AsOf is how far the counts go of a session that still runs; false for one that is over.
func (e Evening) AsOf() (time.Time, bool) { return e.Last.Tally.To, e.Last.Phase.Running() }

// Live puts the counts of the session itself in the place of those that were recorded
// last, if it is the same session.
func (e Evening) Live(now session.Session) Evening {
	if e.Last.Phase.Running() && now.Begun.Equal(e.Last.Begun) && !now.Tally.To.Before(e.Last.Tally.To) {
		e.add(now)
	}
	return e
}

// Begun counts the sessions that began within a time, by their records.
func Begun(records []record.Record, over coverage.Span) (n int) {
	var f Fold
	for _, r := range records {
		if r.Kind == rules.SessionPhase {
			f.session(Read(r))
		}
	}
	for _, e := range f.evenings {
		if at := e.Last.Begun; !at.Before(over.From) && at.Before(over.To) {
			n++
		}
	}
	return n
}
