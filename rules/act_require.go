package rules

import (
	"errors"
	"fmt"
	"time"

	"wetside/rules/ventilation"
)

// RequireAir sets a row of what is asked of the air, or takes one off. It takes the place
// of the row of the same kind and source from its date on; the rows of the configuration
// stay what all others are put upon.
type RequireAir struct {
	Asked   ventilation.Kind `json:"asked"`
	Value   float64          `json:"value,omitempty"` // in the unit of what is asked
	Source  string           `json:"source"`
	Edition string           `json:"edition,omitempty"`
	// Effective is from when on it holds; zero is from its entry on.
	Effective time.Time `json:"effective,omitzero"`
	// Off takes the row off, for a reason.
	Off bool   `json:"off,omitempty"`
	Why string `json:"why,omitempty"`
}

// Kind names the record.
func (RequireAir) Kind() string { return "air requirement" }

// Amends gives the rows with the act among them, as it was recorded.
func (a RequireAir) Amends(rows []ventilation.Requirement, record uint64, at time.Time) []ventilation.Requirement {
	row := ventilation.Requirement{Kind: a.Asked, Value: a.Value, Source: a.Source, Edition: a.Edition, Effective: a.Effective, On: !a.Off, Record: record}
	if row.Effective.IsZero() {
		row.Effective = at
	}
	return ventilation.Amend(rows, row, row.Effective)
}

// requiring is a change of what is asked that is on record.
type requiring struct {
	record uint64
	at     time.Time
	act    RequireAir
}

// requiredBy gives the room with the rows that people have set.
func (r Room) requiredBy(entries []requiring) Room {
	for _, e := range entries {
		r.Required = e.act.Amends(r.Required, e.record, e.at)
	}
	return r
}

// farthest is how many years from now a row may come into force, and mostAsked the
// largest value of any kind (choices of this program).
const (
	farthest  = 20
	mostAsked = 10000
)

func checkRequire(room Room, board Board, c Command, a RequireAir) error {
	for _, word := range []struct {
		what, text string
		needed     bool
	}{{"source", a.Source, true}, {"edition", a.Edition, false}, {"reason", a.Why, a.Off}} {
		if err := checkWord(word.what, word.text, word.needed); err != nil {
			return err
		}
	}
	now := c.At.Wall
	if a.Effective.After(now.AddDate(farthest, 0, 0)) || !a.Effective.IsZero() && a.Effective.Before(time.Date(1900, 1, 1, 0, 0, 0, 0, time.UTC)) {
		return errors.New("the day from which on it holds is not believable: look at its year")
	}
	if a.Value > mostAsked {
		return fmt.Errorf("a required value of %g is not believable: look at the unit", a.Value)
	}
	if a.Value > mostAsked {
		return fmt.Errorf("a required value of %g is not believable: look at the unit", a.Value)
	}
	row := ventilation.Requirement{Kind: a.Asked, Value: a.Value, Source: a.Source, On: true}
	known := room.requiredBy(board.required)
	if a.Off {
		if err := checkOff(known, row, now); err != nil {
			return err
		}
	} else if _, err := ventilation.Strictest([]ventilation.Requirement{row}, room.measures()); err != nil && !(a.Asked == ventilation.MakeUpShare && errors.Is(err, ventilation.ErrNothingRequired)) {
		return err
	}
	known.Required = a.Amends(known.Required, 0, now)
	from := now
	if a.Effective.After(now) {
		from = a.Effective
	}
	if _, err := demanded(known.proven(board.Proven), from); err != nil {
		return fmt.Errorf("then nothing would be asked of the air: %w", err)
	}
	return nil
}

// checkOff asks for a row that holds, or is to.
func checkOff(room Room, row ventilation.Requirement, now time.Time) error {
	for _, r := range room.Required {
		if r.SameAs(row) && r.On && (r.Until.IsZero() || r.Until.After(now)) {
			return nil
		}
	}
	return fmt.Errorf("no row of %s from %q stands here: choose one from the page", row.Kind, row.Source)
}

func (a RequireAir) what(zone *time.Location) string {
	from := ""
	if !a.Effective.IsZero() {
		from = " from " + a.Effective.In(zone).Format(time.DateOnly) + " on"
	}
	if a.Off {
		return fmt.Sprintf("%s of %s is no longer asked%s; it was entered", a.Asked, a.Source, from)
	}
	return fmt.Sprintf("%s of %g %s is asked by %s%s; it was entered", a.Asked, a.Value, a.Asked.Unit(), a.Source, from)
}
