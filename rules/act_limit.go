package rules

import (
	"slices"
	"time"

	"wetside/rules/breathing"
	"wetside/rules/dated"
	"wetside/sensors"
	"wetside/sensors/quantity"
	"wetside/sensors/quantity/phrase"
)

// LimitGas sets a limit for what is breathed in a room, or takes one off; a limit of the
// same agent, jurisdiction, kind and averaging time is an earlier version of it.
type LimitGas struct {
	Agent        string              `json:"agent"`
	Jurisdiction string              `json:"jurisdiction"`
	Limit        breathing.LimitKind `json:"limit"`
	Minutes      float64             `json:"minutes,omitempty"` // of averaging; zero for a ceiling
	Value        float64             `json:"value,omitempty"`   // in the unit
	Unit         string              `json:"unit,omitempty"`    // in which it is published
	Standing     breathing.Standing  `json:"standing,omitempty"`
	Amendment
}

func (LimitGas) Kind() string { return "breathing limit" }

// row is the limit as it was entered.
func (a LimitGas) row(t dated.Term) (breathing.Limit, error) {
	l := breathing.Limit{Agent: a.Agent, Jurisdiction: a.Jurisdiction, Edition: a.Edition, Kind: a.Limit,
		Window: time.Duration(a.Minutes * float64(time.Minute)),
		Value:  a.Value, Standing: a.Standing, Source: a.Source, Term: t, Off: a.Off}
	if a.Off {
		return l, nil
	}
	var err error
	if l.Unit, err = quantity.ParseUnit(a.Unit); err != nil {
		return l, err
	}
	return l, l.Check()
}

// Amends gives the limits of an agent with the act among them, as it was recorded; those
// of another agent stay as they are.
func (a LimitGas) Amends(agent string, rows []breathing.Limit, record uint64, at time.Time) []breathing.Limit {
	row, err := a.row(a.term(record, at))
	if agent != a.Agent || err != nil {
		return rows
	}
	return dated.Amend(rows, row)
}

// limitedBy gives the room with the limits that people have set.
func (r Room) limitedBy(entries []entered[LimitGas]) Room {
	if len(entries) > 0 {
		r.Gases = slices.Clone(r.Gases)
	}
	for _, e := range entries {
		for i := range r.Gases {
			g := &r.Gases[i]
			g.Limits = e.act.Amends(g.Agent.Name, g.Limits, e.record, e.at)
		}
	}
	return r
}

func (a LimitGas) check(room Room, board Board, c Command) error {
	if err := a.Amendment.check(c.At.Wall); err != nil {
		return err
	}
	if err := checkWord(phrase.Say("jurisdiction"), a.Jurisdiction, true); err != nil {
		return err
	}
	row, err := a.row(dated.Term{})
	if err != nil {
		return err
	}
	known := room.limitedBy(board.limited)
	at := slices.IndexFunc(known.Gases, func(g Gas) bool { return g.Agent.Name == a.Agent })
	if at < 0 {
		return phrase.Errorf("no probe for %q is compared with limits here: choose a gas from the page", a.Agent)
	}
	stands := func(l breathing.Limit) bool { return l.SameAs(row) && !l.Off && !l.Over(c.At.Wall) }
	if a.Off && !slices.ContainsFunc(known.Gases[at].Limits, stands) {
		return phrase.Errorf("there is no %s of %s for %s here: choose one from the page", a.Limit, a.Jurisdiction, a.Agent)
	}
	return nil
}

func (a LimitGas) apply(board Board, d Done, _ sensors.Instant) (Board, error) {
	board.limited = enteredWith(board.limited, d, a)
	return board, nil
}

func (a LimitGas) sentence(room Room, d Done) phrase.Sentence {
	since := a.since(room.zone())
	if a.Off {
		return d.entered(phrase.Say("%s of %s for %s no longer applies%s; recorded", a.Limit, a.Jurisdiction, a.Agent, since))
	}
	return d.entered(phrase.Say("%s of %g %s for %s applies, set by %s%s; recorded", a.Limit, a.Value, a.Unit, a.Agent, a.Jurisdiction, since))
}
