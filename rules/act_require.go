package rules

import (
	"errors"
	"time"

	"wetside/rules/dated"
	"wetside/rules/ventilation"
	"wetside/sensors"
	"wetside/sensors/quantity/phrase"
)

// RequireAir sets a row of what is asked of the air, or takes one off; a row of the same
// kind and source is an earlier version of it.
type RequireAir struct {
	Asked ventilation.Kind `json:"asked"`
	Value float64          `json:"value,omitempty"` // in the unit of what is asked
	Amendment
}

func (RequireAir) Kind() string { return "air requirement" }

// Amends gives the rows with the act among them, as it was recorded.
func (a RequireAir) Amends(rows []ventilation.Requirement, record uint64, at time.Time) []ventilation.Requirement {
	return dated.Amend(rows, ventilation.Requirement{Kind: a.Asked, Value: a.Value, Source: a.Source, Edition: a.Edition, Off: a.Off,
		Term: a.term(record, at)})
}

// requiredBy gives the room with the rows that people have set.
func (r Room) requiredBy(entries []entered[RequireAir]) Room {
	for _, e := range entries {
		r.Required = e.act.Amends(r.Required, e.record, e.at)
	}
	return r
}

// mostAsked is the largest value of any kind (wetside's own rule).
const mostAsked = 10000

func (a RequireAir) check(room Room, board Board, c Command) error {
	now := c.At.Wall
	if err := a.Amendment.check(now); err != nil {
		return err
	}
	if a.Value > mostAsked {
		return phrase.Errorf("a required value of %g is not plausible: check the unit", a.Value)
	}
	row := ventilation.Requirement{Kind: a.Asked, Value: a.Value, Source: a.Source}
	known := room.requiredBy(board.required)
	if a.Off {
		if err := checkOff(known, row, now); err != nil {
			return err
		}
	} else if _, err := ventilation.Strictest([]ventilation.Requirement{row}, room.measures()); err != nil &&
		!(a.Asked == ventilation.MakeUpShare && errors.Is(err, ventilation.ErrNothingRequired)) {
		return err
	}
	known.Required = a.Amends(known.Required, 0, now)
	from := now
	if a.Effective.After(now) {
		from = a.Effective
	}
	if _, err := demanded(known.proven(board.Proven), from); err != nil {
		return phrase.Errorf("then no ventilation would be required: %w", err)
	}
	return nil
}

// checkOff asks for a row that holds, or is to.
func checkOff(room Room, row ventilation.Requirement, now time.Time) error {
	for _, r := range room.Required {
		if r.SameAs(row) && !r.Off && !r.Over(now) {
			return nil
		}
	}
	return phrase.Errorf("there is no requirement of %s from %q here: choose one from the page", row.Kind, row.Source)
}

func (a RequireAir) apply(board Board, d Done, _ sensors.Instant) (Board, error) {
	board.required = enteredWith(board.required, d, a)
	return board, nil
}

func (a RequireAir) sentence(room Room, d Done) phrase.Sentence {
	since := a.since(room.zone())
	if a.Off {
		return d.entered(phrase.Say("%s of %s is no longer required%s; recorded", a.Asked, a.Source, since))
	}
	return d.entered(phrase.Say("%s of %g %s is required by %s%s; recorded", a.Asked, a.Value, a.Asked.Unit(), a.Source, since))
}
