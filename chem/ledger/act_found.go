package ledger

import (
	"wetside/sensors/quantity"
	"wetside/sensors/quantity/phrase"
)

// BathFound is a bath that is in a tray, and nobody knows what it was mixed from.
type BathFound struct {
	Container string              `json:"container"`
	Batch     string              `json:"batch"`
	Name      string              `json:"name"` // what it is, in words
	Class     Class               `json:"class"`
	Volume    quantity.Millilitre `json:"volume_ml"`
	Aim       Parts               `json:"aim,omitzero"`    // as somebody says, or as a label says
	Fresh     bool                `json:"fresh,omitempty"` // mixed just before; else nobody knows when
}

func (BathFound) Kind() string { return "bath found" }

func (a BathFound) about() []string { return []string{a.Batch, a.Container} }

func (a BathFound) Sentence() phrase.Sentence {
	if a.Fresh {
		return phrase.Say("%s holds %s of %s (batch %s), mixed fresh, concentrate or stock unknown", a.Container, ml(a.Volume), a.Name, a.Batch)
	}
	return phrase.Say("%s holds %s of %s (batch %s), origin and age unknown", a.Container, ml(a.Volume), a.Name, a.Batch)
}

func (a BathFound) validate() error {
	return first(needName(phrase.Say("tray"), a.Container), needName(phrase.Say("batch"), a.Batch),
		needName(phrase.Say("batch (in words)"), a.Name),
		needClass(a.Class), needVolume(phrase.Say("The volume"), a.Volume), a.Aim.validate())
}

func (a BathFound) touches() []string { return []string{a.Container} }

func (a BathFound) fills() []string { return []string{a.Container} }

// Amount is what is in the tray.
func (a BathFound) Amount() quantity.Millilitre { return a.Volume }

func (a BathFound) check(s *state, e Entry) error {
	if s.nameTaken(a.Batch) {
		return Problem{ErrTaken, phrase.Say("%q is already recorded", a.Batch), phrase.Say("Give the batch another name")}
	}
	c, err := s.roomFor(a.Container, a.Volume, a.Class)
	switch {
	case err != nil:
		return err
	case !c.Vessel.Working():
		return Problem{ErrMismatch, phrase.Say("%s is a %s, not a tray", a.Container, c.Vessel),
			phrase.Say("Choose the tray or tank, or enter an unlabelled bottle")}
	case c.Liquid != nil:
		return Problem{ErrTaken, phrase.Say("%s holds %s already", a.Container, ml(c.Liquid.volume)),
			phrase.Say("Enter first that the tray was emptied")}
	}
	_, err = s.sessionOf(e)
	return err
}

func (a BathFound) apply(s *state, e Entry) {
	b := Batch{ID: a.Batch, Name: a.Name, Class: a.Class, Owner: House, Meant: FromUnknown, Aim: a.Aim, Volume: a.Volume,
		AimStrength: a.Aim.fraction(), By: e.By}
	l := Liquid{class: a.Class, owner: House, volume: a.Volume, shares: map[string]quantity.Millilitre{a.Batch: a.Volume},
		aim: b.AimStrength * float64(a.Volume), unknown: gaps{age: true, strength: true, aim: b.AimStrength == 0}}
	if a.Fresh {
		b.Mixed, l = e.At, l.dated(e.At)
	}
	s.batches.set(a.Batch, b)
	s.put(a.Container, l, e.At)
	s.in += a.Volume
	s.flowed(e, broughtIn, s.containers[a.Container], l)
}
