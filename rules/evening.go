package rules

import (
	"time"

	"wetside/rules/session"
	"wetside/sensors/quantity/phrase"
)

// SessionView is the evening as it may be shown.
type SessionView struct {
	Phase session.Phase
	// SignedOff says that nothing is left to be entered of its take-down, also while the room is still aired.
	SignedOff bool
	Title     string
	// Why says how the phase came about.
	Why phrase.Sentence
	// Since is when the phase began, From and To are as planned; zero where there is nothing. UTC.
	Since, From, To time.Time
	Leader          string
	People          int
	// Trays counts how long trays stood uncovered and how much of that without proven flow.
	Open, Unproven, TrayUnproven time.Duration
	// Coverage is the share of the time with trays uncovered for which the flow was
	// known, nil while no tray was uncovered; LongestGap is the longest time without.
	Coverage   *float64
	LongestGap time.Duration
	// Sentence says in words what was counted; empty while nothing was.
	Sentence phrase.Sentence
	// Counted is the session with what was counted for sure, as of when that was.
	Counted session.Session
	// Next is the booking under way or next; nil when none is planned.
	Next *session.Booking
}

func sessionView(s session.Session, b bookingMemory) SessionView {
	v := SessionView{Counted: s.Settled(), Phase: s.Phase, Title: s.Title, Why: s.Why, Since: s.Since, From: s.From, To: s.To,
		Leader: s.Leader, People: s.People,
		Open: s.Tally.Trays.Open, Unproven: s.Tally.Trays.Unproven, TrayUnproven: s.Tally.Trays.TrayUnproven, LongestGap: s.Tally.LongestGap}
	if b.planned {
		next := b.booking
		v.Next = &next
	}
	if covered, ok := s.Tally.Coverage(); ok {
		v.Coverage = &covered
		v.Sentence = phrase.Say("%s The flow was known for %.0f %% of that time.", s.Tally.Trays.Sentence(), 100*covered)
	}
	return v
}

// fanNotice warns of a fan that stops before the session ends; without a planned
// end it says when the fan stops, while people are at work.
func fanNotice(s *Snapshot) []phrase.Sentence {
	stop := s.Air.FanStop
	if stop == nil || !s.Session.Phase.Running() && s.filled() == 0 {
		return nil
	}
	if s.Session.To.IsZero() {
		return []phrase.Sentence{stop.Sentence}
	}
	if warning, early := stop.Warning(s.Session.To.In(stop.At.Location())); early {
		return []phrase.Sentence{warning}
	}
	return nil
}

// sessionNotices say what is still open at the end of an evening.
func sessionNotices(room Room, s *Snapshot) []phrase.Sentence {
	var list []phrase.Sentence
	if s.Session.Phase == session.Open && !s.Session.To.IsZero() && s.At.Wall.Sub(s.Session.To) > forgotten {
		list = append(list, phrase.Say("The session was planned until %s and trays are still recorded as filled: record where the baths went.",
			s.Session.To.In(room.zone()).Format("15:04")))
	}
	closing := s.Session.Phase == session.TakeDown || s.Session.Phase == session.Closed && s.At.Wall.Sub(s.Session.Since) < time.Hour
	if p := s.Purge; p != nil && p.After && !p.Done && closing {
		list = append(list, p.Sentence)
	}
	return list
}

// forgotten is how long after the planned end filled trays are worth a word.
const forgotten = 2 * time.Hour
