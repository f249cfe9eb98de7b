package session

import (
	"strings"
	"time"

	"wetside/sensors"
	"wetside/sensors/quantity/phrase"
)

// How phases follow from what happens (choices of this program).
const (
	// lead is how long before a planned session a running fan means that it is being set up.
	lead = 2 * time.Hour
	// plannedAhead is how long before it a planned session is announced.
	plannedAhead = 24 * time.Hour
	// quietEnd is how long trays must be empty and the fan off before a session is over.
	quietEnd = 10 * time.Minute
	// idleSetUp is how long nothing may happen before a set-up counts as given up.
	idleSetUp = time.Hour
	// longestTakeDown is how long a take-down may last with the fan left running.
	longestTakeDown = 3 * time.Hour
	// longestIdle is how long a session without any filled tray may stay open beyond its planned end.
	longestIdle = 3 * time.Hour
)

// advance takes the changes of phase that need no form.
func (s Session) advance(now sensors.Instant) Session {
	switch s.Phase {
	case SetUp:
		return s.fromSetUp(now)
	case Open:
		return s.fromOpen(now)
	case TakeDown:
		return s.fromTakeDown(now)
	}
	return s.fromRest(now)
}

// fromRest begins a session, or says that one is planned.
func (s Session) fromRest(now sensors.Instant) Session {
	e, b := s.evidence, s.evidence.Booking
	had := s.Phase == Closed && !s.From.IsZero() && s.From.Equal(b.From) // this booking's session is over already
	planned := !b.From.IsZero() && !had
	soon := planned && !now.Wall.Before(b.From.Add(-lead)) && now.Wall.Before(b.To)
	switch {
	case e.Filled > 0 && soon && now.Wall.Before(b.From):
		return s.begin(SetUp, phrase.Say("a tray was filled before the planned hour"), now)
	case e.Filled > 0:
		return s.begin(Open, phrase.Say("a tray was filled"), now)
	case e.FanOn && soon:
		return s.begin(SetUp, phrase.Say("the fan runs before a planned session"), now)
	case planned && !now.Wall.Before(b.From.Add(-plannedAhead)):
		if s.Phase != Planned || !s.From.Equal(b.From) {
			return s.plan(b, now)
		}
	case s.Phase == Planned:
		return Session{evidence: e, at: s.at, counting: true}
	}
	return s
}

func (s Session) plan(b Booking, now sensors.Instant) Session {
	return Session{Phase: Planned, Title: b.Title, From: b.From, To: b.To, Why: phrase.Say("from the calendar"), Since: now.Wall,
		evidence: s.evidence, at: s.at, counting: true}
}

// begin starts a session; it is that of the calendar if one is due.
func (s Session) begin(p Phase, why phrase.Sentence, now sensors.Instant) Session {
	n := Session{Phase: p, Why: why, Begun: now.Wall, Since: now.Wall, evidence: s.evidence, at: s.at, counting: s.counting,
		Tally: Tally{To: now.Wall}, settled: Tally{To: now.Wall}}
	if b := s.evidence.Booking; !b.From.IsZero() && !now.Wall.Before(b.From.Add(-lead)) && now.Wall.Before(b.To) {
		n.Title, n.From, n.To = b.Title, b.From, b.To
	}
	return n
}

func (s Session) fromSetUp(now sensors.Instant) Session {
	switch {
	case s.evidence.Filled > 0 && s.From.IsZero():
		return s.to(Open, phrase.Say("trays are filled"), now)
	case s.evidence.Filled > 0 && !now.Wall.Before(s.From):
		return s.to(Open, phrase.Say("trays are filled and the planned hour has come"), now)
	case s.isQuiet && now.Mono-s.quiet >= idleSetUp && !now.Wall.Before(s.From):
		return s.to(Closed, phrase.Say("the set-up was given up: trays empty and fan off"), now)
	case s.evidence.Filled == 0 && s.over(now):
		return s.to(Closed, phrase.Say("the planned hours went by"), now)
	}
	return s
}

func (s Session) fromOpen(now sensors.Instant) Session {
	if s.evidence.Filled > 0 {
		return s
	}
	switch {
	case s.Tally.Trays.Open > 0:
		return s.to(TakeDown, phrase.Say("the last tray was emptied"), now)
	case s.over(now):
		return s.to(Closed, phrase.Say("no tray was filled and the planned hours went by"), now)
	}
	return s
}

func (s Session) fromTakeDown(now sensors.Instant) Session {
	switch {
	case s.poured:
		return s.to(Open, phrase.Say("a tray was filled again"), now)
	case s.evidence.Filled > 0:
		return s
	case s.isQuiet && now.Mono-s.quiet >= quietEnd:
		return s.to(Closed, phrase.Say("trays empty and fan off"), now)
	case now.Wall.Sub(s.Since) >= longestTakeDown:
		return s.to(Closed, phrase.Say("trays have been empty for hours"), now)
	}
	return s
}

// over says whether a session without a filled tray has had its time.
func (s Session) over(now sensors.Instant) bool {
	end := s.To
	if end.IsZero() {
		end = s.Begun.Add(longestIdle)
	}
	return now.Wall.Sub(end) >= longestIdle
}

func (s Session) to(p Phase, why phrase.Sentence, now sensors.Instant) Session {
	s.Phase, s.Why, s.Since = p, why, now.Wall
	return s
}

// Entry is what a person enters of a session.
type Entry struct {
	By     string    `json:"-"` // who entered it
	Title  string    `json:"title,omitempty"`
	People int       `json:"people,omitempty"`
	Until  time.Time `json:"until,omitzero"` // planned end; zero keeps the calendar's
	// Session names the session in the book of the shelf; empty where there is none.
	Session string `json:"session,omitempty"`
}

// Check says what is wrong with an entry.
func (e Entry) Check(now time.Time) error {
	switch {
	case e.People < 0 || e.People > 1000:
		return phrase.Errorf("%d people are not usable: expected 0 to 1000", e.People)
	case !e.Until.IsZero() && !e.Until.After(now):
		return phrase.Errorf("the end of the session has gone by: enter a later one")
	case !e.Until.IsZero() && e.Until.Sub(now) > 24*time.Hour:
		return phrase.Errorf("a session ends within 24 hours: enter an earlier end")
	}
	return nil
}

// Start opens a session by a form, or goes on with the one that runs, with what was entered.
func (s Session) Start(p Phase, e Entry, now sensors.Instant) (Session, error) {
	if p != SetUp && p != Open {
		return s, phrase.Errorf("a session starts with its set-up or open, not %q", p)
	}
	if err := e.Check(now.Wall); err != nil {
		return s, err
	}
	_, over := s.Over(e, now)
	switch {
	case !s.Phase.Running() || over:
		s = s.begin(p, phrase.Say("opened by %s", e.By), now)
	case s.Phase != p:
		s = s.to(p, phrase.Say("opened by %s", e.By), now)
	}
	s.Leader, s.People = e.By, e.People
	if e.Session != "" {
		s.ID = e.Session
	}
	if title := strings.TrimSpace(e.Title); title != "" {
		s.Title = title
	}
	if !e.Until.IsZero() {
		s.To = e.Until
	}
	return s, nil
}

// Over is the session as it ends where what is entered begins another one: it has another name, or it begins while one that
// nobody named is taken down. False where a session goes on, or none runs.
func (s Session) Over(e Entry, now sensors.Instant) (Session, bool) {
	named := s.ID != "" || s.Phase == TakeDown
	if !s.Phase.Running() || !named || e.Session == "" || e.Session == s.ID {
		return s, false
	}
	return s.to(Closed, phrase.Say("the next session began"), now), true
}

// ErrNotRunning says that there is no session to end.
var ErrNotRunning = phrase.Errorf("no session is under way: nothing to end")

// End begins the take-down by a form, or closes the session.
func (s Session) End(p Phase, by string, now sensors.Instant) (Session, error) {
	switch {
	case !s.Phase.Running():
		return s, ErrNotRunning
	case p != TakeDown && p != Closed:
		return s, phrase.Errorf("a session ends with its take-down or closed, not %q", p)
	case p == Closed && s.evidence.Filled > 0:
		return s, phrase.Errorf("trays are still filled: enter first that they were emptied")
	case s.Phase == p:
		return s, phrase.Errorf("the session is in its %s already", p)
	}
	return s.to(p, phrase.Say("by %s", by), now), nil
}
