package rules

import (
	"slices"
	"time"

	"wetside/rules/breathing"
	"wetside/sensors"
	"wetside/sensors/quantity/phrase"
)

// StateUnexposed states that nobody is exposed to the gases of a room outside of its classes,
// or withdraws the statement; see [breathing.Vouched].
type StateUnexposed struct {
	// Effective is from when on the statement covers classes; zero is from its entry on.
	Effective time.Time `json:"effective,omitzero"`
	Off       bool      `json:"off,omitempty"`
	// Why is what the statement rests on, or why it is withdrawn.
	Why string `json:"why"`
}

func (StateUnexposed) Kind() string { return "unexposed time stated" }

// Since is the day from which on it holds; zero from its entry on.
func (a StateUnexposed) Since() (at time.Time, within time.Duration) { return a.Effective, wholeDay }

// Vouch is the statement as it was recorded.
func (a StateUnexposed) Vouch(by string, entry uint64, at time.Time) breathing.Vouched {
	v := breathing.Vouched{By: by, On: at, Record: entry, Effective: a.Effective, Off: a.Off, Why: a.Why}
	if v.Effective.IsZero() {
		v.Effective = at
	}
	return v
}

func (a StateUnexposed) check(room Room, board Board, c Command) error {
	if err := checkWord(phrase.Say("reason"), a.Why, true); err != nil {
		return err
	}
	switch now := c.At.Wall; {
	case len(room.Gases) == 0:
		return phrase.Errorf("no gas is measured in this room: there is no average that a statement could complete")
	case a.Effective.After(now.AddDate(1, 0, 0)) || !a.Effective.IsZero() && a.Effective.Before(now.AddDate(-farthest, 0, 0)):
		return phrase.Errorf("the start date of the statement is not plausible: check the year")
	case a.Off && !breathing.VouchedAt(board.unexposed, now).Holds():
		return phrase.Errorf("there is no statement to withdraw")
	}
	return nil
}

func (a StateUnexposed) apply(board Board, d Done, _ sensors.Instant) (Board, error) {
	board.unexposed = append(slices.Clip(board.unexposed), a.Vouch(d.Command.Person, d.Record, d.At))
	return board, nil
}

func (a StateUnexposed) sentence(room Room, d Done) phrase.Sentence {
	since := phrase.Sentence{}
	if !a.Effective.IsZero() {
		since = phrase.Say(" from %s on", a.Effective.In(room.zone()).Format(time.DateOnly))
	}
	if a.Off {
		return d.entered(phrase.Say("the statement about time outside the class was withdrawn%s", since))
	}
	return d.entered(phrase.Say("it was stated that nobody is exposed outside the class%s", since))
}
