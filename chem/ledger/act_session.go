package ledger

import (
	"slices"
	"strings"
	"time"

	"wetside/sensors/quantity/phrase"
)

// SessionOpened is the beginning of an evening or a class.
type SessionOpened struct {
	Session string   `json:"session"`
	Title   string   `json:"title"`
	Lead    string   `json:"lead"`
	People  []string `json:"people,omitempty"`
}

func (SessionOpened) Kind() string { return "session opened" }

func (SessionOpened) about() []string { return nil }

func (a SessionOpened) Sentence() phrase.Sentence {
	return phrase.Say("session %s started, led by %s", a.Title, a.Lead)
}

func (a SessionOpened) validate() error {
	return first(needName(phrase.Say("session"), a.Session), needName(phrase.Say("session (in words)"), a.Title),
		needName(phrase.Say("person who leads"), a.Lead),
		needNames(phrase.Say("person"), a.People))
}

func (a SessionOpened) check(s *state, _ Entry) error {
	if _, ok := s.sessions.get(a.Session); ok {
		return Problem{ErrTaken, phrase.Say("A session %q is already recorded", a.Session), phrase.Say("Give the session another name")}
	}
	return nil
}

func (a SessionOpened) apply(s *state, e Entry) {
	s.sessions.set(a.Session, Session{ID: a.Session, Title: a.Title, Lead: a.Lead, People: a.People, Opened: e.At})
	s.open = append(s.open, a.Session)
	e.Session = a.Session
	s.eachWorking(func(c *Container) { s.flowed(e, broughtIn, c, *c.Liquid) })
}

// SessionClosed is its end. What is still in a tray stays there and is shown.
type SessionClosed struct {
	Session string `json:"session"`
}

func (SessionClosed) Kind() string { return "session closed" }

func (SessionClosed) about() []string { return nil }

func (a SessionClosed) Sentence() phrase.Sentence {
	return phrase.Say("session %s ended", a.Session)
}

func (a SessionClosed) validate() error { return needName(phrase.Say("session"), a.Session) }

func (a SessionClosed) check(s *state, e Entry) error {
	session, ok := s.sessions.get(a.Session)
	switch {
	case !ok:
		return Problem{ErrUnknown, phrase.Say("No session is called %q at that time", a.Session), phrase.Say("Check the name")}
	case !session.Closed.IsZero():
		return Problem{ErrSession, phrase.Say("Session %q was closed at %s", a.Session, when(session.Closed)),
			phrase.Say("Correct that entry if it was wrong")}
	}
	return nil
}

func (a SessionClosed) apply(s *state, e Entry) {
	e.Session = a.Session
	s.eachWorking(func(c *Container) { s.flowed(e, leftThere, c, *c.Liquid) })
	session, _ := s.sessions.get(a.Session)
	session.Closed = e.At
	s.sessions.set(a.Session, session)
	s.open = slices.DeleteFunc(s.open, func(id string) bool { return id == a.Session })
}

// TraysCovered says that lids were put on.
type TraysCovered struct {
	Containers []string `json:"containers"`
}

func (TraysCovered) Kind() string { return "trays covered" }

func (a TraysCovered) about() []string { return a.Containers }

func (a TraysCovered) Sentence() phrase.Sentence {
	return phrase.Say("covered: %s", strings.Join(a.Containers, ", "))
}

func (a TraysCovered) validate() error { return needSome(phrase.Say("tray"), a.Containers) }

func (a TraysCovered) check(s *state, _ Entry) error { return s.checkTrays(a.Containers) }

func (a TraysCovered) apply(s *state, e Entry) {
	for _, id := range a.Containers {
		c := s.containers[id]
		c.airOut(e.At)
		c.Covered, c.OpenSince = true, time.Time{}
	}
}

// TraysUncovered says that lids were taken off.
type TraysUncovered struct {
	Containers []string `json:"containers"`
}

func (TraysUncovered) Kind() string { return "trays uncovered" }

func (a TraysUncovered) about() []string { return a.Containers }

func (a TraysUncovered) Sentence() phrase.Sentence {
	return phrase.Say("uncovered: %s", strings.Join(a.Containers, ", "))
}

func (a TraysUncovered) validate() error { return needSome(phrase.Say("tray"), a.Containers) }

func (a TraysUncovered) check(s *state, _ Entry) error { return s.checkTrays(a.Containers) }

func (a TraysUncovered) apply(s *state, e Entry) {
	for _, id := range a.Containers {
		c := s.containers[id]
		c.airOut(e.At)
		c.Covered = false
		if c.Liquid != nil {
			c.OpenSince = e.At
		}
	}
}

func (s *state) checkTrays(ids []string) error {
	for _, id := range ids {
		c, err := s.container(id)
		if err != nil {
			return err
		}
		if !c.opens() {
			return Problem{ErrMismatch, phrase.Say("%s is a %s and has no lid to put on or take off", id, c.Vessel),
				phrase.Say("Choose a tray or an open tank")}
		}
	}
	return nil
}

func (s *state) eachWorking(do func(*Container)) {
	for c := range s.vessels() {
		if c.Vessel.Working() && c.Liquid != nil {
			do(c)
		}
	}
}
