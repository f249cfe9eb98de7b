// Package session frames an evening in a room: planned, set-up, open, take-down,
// closed. A session comes from the weekly calendar, from a form, or is noticed from
// what happens: the fan runs before a planned hour, trays are filled. While it lasts
// it counts how long trays stood uncovered, how much of that without proven flow,
// and for how much of it the flow was known at all.
//
// It is pure: evidence and the time go in, the session comes out.
package session

import (
	"time"

	"wetside/rules/breathing"
	"wetside/sensors"
	"wetside/sensors/quantity"
	"wetside/sensors/quantity/phrase"
)

// Phase says where an evening stands.
type Phase string

// The phases in their order; None while nothing is planned or under way.
const (
	None     Phase = ""
	Planned  Phase = "planned"
	SetUp    Phase = "set-up"
	Open     Phase = "open"
	TakeDown Phase = "take-down"
	Closed   Phase = "closed"
)

// Running says whether people are at work in the room.
func (p Phase) Running() bool { return p == SetUp || p == Open || p == TakeDown }

// Session is one evening. It is a value: every step and act gives a new one. Its
// JSON is what the record book keeps, enough to go on after a restart.
type Session struct {
	// ID names the session in the book of the shelf too; empty where that has none.
	ID    string `json:"id,omitempty"`
	Phase Phase  `json:"phase"`
	Title string `json:"title,omitempty"`
	// Why says how the phase came about.
	Why phrase.Sentence `json:"why,omitzero"`
	// From and To are as planned; zero where nothing was.
	From time.Time `json:"from,omitzero"`
	To   time.Time `json:"to,omitzero"`
	// Leader opened it by a form, and People is how many were entered; zero if nobody did.
	Leader string `json:"leader,omitempty"`
	People int    `json:"people,omitempty"`
	// Begun is when the set-up began, Since when the present phase did; UTC.
	Begun time.Time `json:"begun,omitzero"`
	Since time.Time `json:"since,omitzero"`
	Tally Tally     `json:"tally"`

	quiet   time.Duration // monotonic: since when nothing has been going on
	isQuiet bool
	gap     time.Duration // of the flow not known, now
	// sure is what stays counted if the sample of the flow heard last was the last one: from
	// it on the flow is not known.
	sure     counts
	settled  Tally // what no sample of the flow takes back any more
	evidence Evidence
	poured   bool // a tray was filled since the last step
	at       sensors.Instant
	counting bool
}

// Tally is what was counted while a session ran. It is evidence of a control, not
// of what anyone breathed.
type Tally struct {
	Trays breathing.TrayTally `json:"trays"`
	// Watched is the time with trays uncovered, Known the part of it with a flow
	// reading, LongestGap the longest time of it without one.
	Watched    time.Duration `json:"watched_ns"`
	Known      time.Duration `json:"known_ns"`
	LongestGap time.Duration `json:"longest_gap_ns"`
	// Moved is the air moved in m³ while FanTime passed with air moving.
	Moved   float64       `json:"moved_m3"`
	FanTime time.Duration `json:"fan_ns"`
	// To is how far has been counted; UTC.
	To time.Time `json:"to,omitzero"`
}

// Coverage is the share of the time with trays uncovered for which the flow was
// known, 0 to 1; false when no tray was uncovered.
func (t Tally) Coverage() (float64, bool) {
	if t.Watched <= 0 {
		return 0, false
	}
	return float64(t.Known) / float64(t.Watched), true
}

// MeanFlow is the flow over the time in which air moved; false if it never did
// for ten minutes in all.
func (t Tally) MeanFlow() (quantity.CubicMetrePerHour, bool) {
	if t.FanTime < 10*time.Minute {
		return 0, false
	}
	return quantity.CubicMetrePerHour(t.Moved / t.FanTime.Hours()), true
}

// Evidence is what is known of the room at one moment.
type Evidence struct {
	// Booking is the one under way or next; the zero Booking when none is planned.
	Booking Booking
	// Filled counts trays that hold something, Uncovered those of them without a lid.
	Filled, Uncovered int
	// FanOn is set when the fan is commanded on or air is measured to move.
	FanOn bool
	// Known is set when the flow is known, Proven when it is enough and every uncovered tray
	// has its part. Where some have not, Unserved counts them; zero stands for all.
	Known, Proven bool
	Unserved      int
	Flow          quantity.CubicMetrePerHour
	// Heard is when the newest sample of the flow came. Until the next one it counts as known;
	// if none comes in time, it is not known from this sample on. Zero when no sample is told.
	Heard time.Time
}

// Step goes on with a session by what is known now.
func (s Session) Step(e Evidence, now sensors.Instant) Session {
	s = s.count(now, e).settle(e)
	s.poured = s.counting && e.Filled > s.evidence.Filled
	s.evidence, s.at, s.counting = e, now, true
	busy := e.Filled > 0 || e.FanOn
	if busy || !s.isQuiet {
		s.quiet, s.isQuiet = now.Mono, !busy
	}
	return s.advance(now)
}

// longestStep is the longest time between two steps for which the evidence of the
// first still holds; over a longer one the flow is not known.
const longestStep = time.Minute

// longestUnseen is the longest time without any step, such as a restart, that is
// counted; trays left filled for longer were forgotten, not worked with.
const longestUnseen = 24 * time.Hour

// count adds the time since the last step. Trays that stood uncovered while nobody
// looked, as over a restart, stood without proven flow.
func (s Session) count(now sensors.Instant, found Evidence) Session {
	if !s.Phase.Running() {
		s.Tally.To = now.Wall
		return s
	}
	span, seen := now.Since(s.at), s.counting
	if !seen {
		span = now.Wall.Sub(s.Tally.To)
		s.evidence.Uncovered = s.unseenTrays(found)
	}
	if span <= 0 || span > longestUnseen || s.Tally.To.IsZero() {
		s.Tally.To = now.Wall
		return s
	}
	e, unseen := s.evidence, s.evidence
	unseen.Known, unseen.Proven, unseen.Unserved = false, false, unseen.Uncovered
	if !seen || span > longestStep {
		e = unseen
	}
	heard := counts{s.Tally, s.gap}.add(span, e)
	s.Tally, s.gap, s.sure = heard.Tally, heard.gap, s.sure.add(span, unseen)
	s.Tally.To = now.Wall
	return s
}

// settle makes sure of what was counted when the next sample of the flow comes, and takes
// it back to the last sample when the flow is not known before one does. Nothing is taken back
// of a session that is over: its counts are on record.
func (s Session) settle(e Evidence) Session {
	waits := !e.Heard.IsZero() && e.Heard.Equal(s.evidence.Heard)
	if waits && !e.Known && s.evidence.Known && s.Phase.Running() {
		to := s.Tally.To
		s.Tally, s.gap = s.sure.Tally, s.sure.gap
		s.Tally.To = to
	}
	if !waits || !e.Known {
		s.sure, s.settled = counts{s.Tally, s.gap}, s.Tally
	}
	return s
}

// Settled is the session with what was counted for sure: of one that runs, up to the sample of
// the flow heard last. Whether the flow was known after that sample, the next one says.
func (s Session) Settled() Session {
	if s.Phase.Running() {
		s.Tally = s.settled
	}
	return s
}

// counts are a tally with the time without a known flow that goes on at its end.
type counts struct {
	Tally
	gap time.Duration
}

// add counts a time with what was known over it.
func (c counts) add(span time.Duration, e Evidence) counts {
	c.Trays = c.Trays.Add(span, e.Uncovered, e.unserved())
	if e.Proven {
		c.Moved += float64(e.Flow) * span.Hours()
		c.FanTime += span
	}
	if e.Uncovered <= 0 {
		return c
	}
	c.Watched += span
	if e.Known {
		c.Tally.Known, c.gap = c.Tally.Known+span, 0
		return c
	}
	c.gap += span
	c.LongestGap = max(c.LongestGap, c.gap)
	return c
}

// unserved counts the uncovered trays without proven flow; all of them where nobody said which.
func (e Evidence) unserved() int {
	switch {
	case e.Proven:
		return 0
	case e.Unserved > 0:
		return e.Unserved
	}
	return e.Uncovered
}

// unseenTrays: a session that had come to its trays, or is found with one, had at least one uncovered when it was last
// seen. One that was opened by hand may not have come to any.
func (s Session) unseenTrays(found Evidence) int {
	if (s.Phase == Open || s.Phase == SetUp) && (s.Tally.Watched > 0 || found.Filled > 0) {
		return 1
	}
	return 0
}
