package audit

import (
	"encoding/json"
	"slices"
	"time"

	"wetside/dashboard/report"
	"wetside/rules"
	"wetside/rules/coverage"
	"wetside/rules/past"
	"wetside/rules/session"
)

// evening is one session as the book tells it.
type evening struct {
	room   string
	last   session.Session // as it was recorded last
	record uint64
	// open are the times in which its phase was open.
	open    []coverage.Span
	opened  time.Time
	settled *past.Version
	number  int
	now     time.Time
}

// longestEvening is how long before and after the time asked for a session's records may lie.
const longestEvening = 48 * time.Hour

// sessions finds the sessions that begun in the time, with the counts recorded last.
func (g *gathering) sessions() error {
	found := map[string]*evening{}
	for r, err := range g.book.EachRecord(g.ctx, g.within(longestEvening, rules.SessionPhase, rules.SessionCounts)) {
		if err != nil {
			return err
		}
		var e rules.Event
		if json.Unmarshal(r.Content, &e) != nil || e.Session == nil || !g.inside(e.Session.Begun) {
			continue
		}
		key := r.Room + " " + e.Session.Begun.Format(time.RFC3339Nano)
		s, known := found[key]
		if !known {
			s = &evening{room: r.Room, settled: g.inForce(e.Session.Begun), now: g.Now}
			found[key] = s
			g.evenings = append(g.evenings, s)
		}
		s.take(*e.Session, r.Number)
	}
	slices.SortStableFunc(g.evenings, func(a, b *evening) int { return a.last.Begun.Compare(b.last.Begun) })
	for i, s := range g.evenings {
		s.number = i + 1
		if !s.opened.IsZero() { // it was still open when the book was read
			s.open = append(s.open, coverage.Span{From: s.opened, To: s.span().To})
		}
		g.data.Sessions = append(g.data.Sessions, s.report())
	}
	return nil
}

// take goes on with the session by a record of it.
func (s *evening) take(now session.Session, record uint64) {
	switch {
	case now.Phase == session.Open && s.opened.IsZero():
		s.opened = now.Since
	case now.Phase != session.Open && !s.opened.IsZero():
		s.open = append(s.open, coverage.Span{From: s.opened, To: now.Since})
		s.opened = time.Time{}
	}
	s.last, s.record = now, record
}

// countedEvery is how often the counts of a running session are recorded: so much
// later than its last record it may still run.
const countedEvery = 10 * time.Minute

// span is from the beginning of the set-up to the close; of a session that still runs
// as far as is known.
func (s *evening) span() coverage.Span {
	t := coverage.Span{From: s.last.Begun, To: s.last.Since}
	if s.last.Phase.Running() {
		t.To = s.last.Tally.To.Add(countedEvery)
		if s.now.Before(t.To) {
			t.To = s.now
		}
	}
	return t
}

func (s *evening) report() report.Session {
	n := s.last
	out := report.Session{Number: s.number, Room: s.room, Title: n.Title, Leader: n.Leader, People: n.People, Begun: n.Begun, Ended: s.span().To, Running: n.Phase.Running(),
		Uncovered: n.Tally.Trays.Open, Unproven: n.Tally.Trays.Unproven, TrayUnproven: n.Tally.Trays.TrayUnproven,
		FlowKnown: n.Tally.Known, FlowProven: n.Tally.FanTime, Record: s.record}
	if room, ok := s.roomThen(); ok {
		if demand, err := room.Demand(n.Begun); err == nil {
			changes := float64(demand.AirChanges)
			out.Required = &changes
		}
	}
	return out
}

// roomThen is the room by the settings in force when the session began.
func (s *evening) roomThen() (past.Room, bool) {
	if s.settled == nil {
		return past.Room{}, false
	}
	return s.settled.Room(s.room)
}
