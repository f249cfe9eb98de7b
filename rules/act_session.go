package rules

import (
	"wetside/rules/session"
	"wetside/sensors"
	"wetside/sensors/quantity/phrase"
)

// StartSession opens a session, or its set-up, by a form.
type StartSession struct {
	Phase session.Phase `json:"phase"` // set-up or open
	session.Entry
}

func (StartSession) Kind() string { return "session started" }

func (a StartSession) check(_ Room, board Board, c Command) error {
	if err := checkWord(phrase.Say("title"), a.Title, false); err != nil {
		return err
	}
	_, err := board.Memory.Session.Start(a.Phase, a.by(c.Person), c.At)
	return err
}

func (a StartSession) apply(board Board, d Done, now sensors.Instant) (Board, error) {
	m := &board.Memory
	over, ends := m.Session.Over(a.Entry, now)
	begun, err := m.Session.Start(a.Phase, a.by(d.Command.Person), now)
	if err == nil {
		m.Session = begun
		if ends {
			m.over = &over
		}
	}
	return board, err
}

func (a StartSession) sentence(_ Room, d Done) phrase.Sentence {
	return d.entered(phrase.Say("the session is %s, recorded", a.Phase))
}

// by gives what was entered with the name of who did.
func (a StartSession) by(person string) session.Entry {
	a.By = person
	return a.Entry
}

// EndSession begins the take-down of a session, or closes it.
type EndSession struct {
	Phase session.Phase `json:"phase"` // take-down or closed
	Note  string        `json:"note,omitempty"`
}

func (EndSession) Kind() string { return "session ended" }

func (a EndSession) check(_ Room, board Board, c Command) error {
	if err := checkWord(phrase.Say("note"), a.Note, false); err != nil {
		return err
	}
	_, err := board.Memory.Session.End(a.Phase, c.Person, c.At)
	return err
}

func (a EndSession) apply(board Board, d Done, now sensors.Instant) (Board, error) {
	ended, err := board.Memory.Session.End(a.Phase, d.Command.Person, now)
	board.Memory.Session = ended
	if err == nil && a.Phase == session.Closed { // where one is planned, the next turn is at that already
		board.Memory.over = &ended
	}
	return board, err
}

func (a EndSession) sentence(_ Room, d Done) phrase.Sentence {
	return d.entered(phrase.Say("the session is in %s, recorded", a.Phase))
}

// addSession brings back an evening from the book.
func (m *Memory) addSession(s session.Session) {
	m.Session, m.phase, m.over = s, s.Phase, nil
	if s.Phase == session.Closed {
		m.addFlow(s)
	}
}
