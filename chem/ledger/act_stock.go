package ledger

import (
	"strings"
	"time"

	"wetside/sensors/quantity"
	"wetside/sensors/quantity/phrase"
)

// ContainerNamed gives a vessel its lasting name, or changes what is known of it.
type ContainerNamed struct {
	Container   string              `json:"container"`
	Vessel      Vessel              `json:"vessel"`
	Capacity    quantity.Millilitre `json:"capacity_ml"`
	Bath        string              `json:"bath,omitempty"`
	FloatingLid bool                `json:"floating_lid,omitempty"`
	KeptFor     Class               `json:"kept_for,omitempty"`
	Stream      Stream              `json:"stream,omitempty"` // of a waste container
}

func (ContainerNamed) Kind() string { return "container named" }

func (a ContainerNamed) about() []string { return []string{a.Container} }

func (a ContainerNamed) Sentence() phrase.Sentence {
	return phrase.Say("%s added: %s, capacity %s", a.Container, a.Vessel, ml(a.Capacity))
}

func (a ContainerNamed) validate() error {
	err := first(needName(phrase.Say("vessel"), a.Container), needVolume(phrase.Say("The capacity"), a.Capacity),
		maybeName(phrase.Say("bath"), a.Bath),
		oneOf(phrase.Say("vessel"), a.Vessel, Vessels()...))
	if err == nil && a.KeptFor != "" {
		err = needClass(a.KeptFor)
	}
	if err == nil && (a.Vessel == WasteContainer) != (a.Stream != "") {
		err = Problem{ErrForm, phrase.Say("A waste container, and only a waste container, is for one kind of waste"),
			phrase.Say("Say which waste the container is for")}
	}
	if err == nil && a.Vessel == Pitcher && a.KeptFor == "" {
		err = Problem{ErrForm, phrase.Say("A pitcher is kept for one chemical"),
			phrase.Say("Say which chemical, and write the name on the pitcher")}
	}
	if err == nil && a.Stream != "" {
		err = oneOf(phrase.Say("kind of waste"), a.Stream, SilverStream, TonerStream, PlainStream)
	}
	return err
}

func (a ContainerNamed) check(s *state, _ Entry) error {
	c, ok := s.containers[a.Container]
	if !ok {
		return nil
	}
	if c.Liquid != nil && (c.Vessel != a.Vessel || c.Stream != a.Stream || c.Liquid.volume > a.Capacity) {
		return Problem{ErrTaken, phrase.Say("%s is a %s and holds %s", a.Container, c.Vessel, ml(c.Liquid.volume)),
			phrase.Say("Empty it before you change what it is")}
	}
	return nil
}

func (a ContainerNamed) apply(s *state, e Entry) {
	c, ok := s.containers[a.Container]
	if !ok {
		c = &Container{ID: a.Container}
		s.containers[a.Container] = c
	}
	c.airOut(e.At)
	c.Vessel, c.Capacity, c.Bath, c.FloatingLid, c.KeptFor, c.Stream = a.Vessel, a.Capacity, a.Bath, a.FloatingLid, a.KeptFor, a.Stream
	if !c.opens() {
		c.OpenSince = time.Time{}
	}
}

// LotReceived is a delivery of bottles of concentrate or packets of powder.
type LotReceived struct {
	Lot        string              `json:"lot"`
	Product    string              `json:"product,omitempty"` // in the catalogue
	Class      Class               `json:"class"`
	Code       string              `json:"code,omitempty"` // printed on the pack
	Units      int                 `json:"units"`
	UnitVolume quantity.Millilitre `json:"unit_ml"` // of one bottle, or what one packet makes
	Powder     bool                `json:"powder,omitempty"`
	Expiry     time.Time           `json:"expiry,omitzero"`
	Owner      Owner               `json:"owner"`
}

func (LotReceived) Kind() string { return "lot received" }

func (a LotReceived) about() []string { return []string{a.Lot} }

func (a LotReceived) Sentence() phrase.Sentence {
	pack, holds := "bottle", "of"
	if a.Powder {
		pack, holds = "packet", "for"
	}
	if a.Units != 1 {
		pack += "s"
	}
	return phrase.Say("%d %s %s %s received, lot %s", a.Units, pack, holds, ml(a.UnitVolume), strings.TrimPrefix(a.Lot, "lot "))
}

func (a LotReceived) validate() error {
	err := first(needName(phrase.Say("lot"), a.Lot), maybeName(phrase.Say("product"), a.Product), maybeName(phrase.Say("code"), a.Code),
		needClass(a.Class),
		needVolume(phrase.Say("The volume of one bottle or packet"), a.UnitVolume), a.Owner.validate())
	if err == nil && (a.Units < 1 || a.Units > 10000) {
		err = Problem{ErrForm, phrase.Say("%d bottles or packets is no delivery", a.Units), phrase.Say("Count them: at least 1")}
	}
	return err
}

func (a LotReceived) touches() []string { return nil }

func (a LotReceived) check(s *state, _ Entry) error {
	if s.nameTaken(a.Lot) {
		return Problem{ErrTaken, phrase.Say("%q is already recorded", a.Lot), phrase.Say("Give the lot another name")}
	}
	return nil
}

func (a LotReceived) apply(s *state, e Entry) {
	s.lots[a.Lot] = Lot{ID: a.Lot, Product: a.Product, Class: a.Class, Owner: a.Owner, Powder: a.Powder,
		Units: a.Units, UnitVolume: a.UnitVolume, Received: e.At, Expiry: a.Expiry}
}

// LotOpened is the breaking of the seal of one bottle of a lot. A bottle that
// has no name yet is named by it.
type LotOpened struct {
	Lot       string `json:"lot"`
	Container string `json:"container"`
}

func (LotOpened) Kind() string { return "lot opened" }

func (a LotOpened) about() []string { return []string{a.Lot, a.Container} }

func (a LotOpened) Sentence() phrase.Sentence {
	return phrase.Say("%s opened, from %s", a.Container, a.Lot)
}

func (a LotOpened) validate() error {
	return first(needName(phrase.Say("lot"), a.Lot), needName(phrase.Say("vessel"), a.Container))
}

func (a LotOpened) touches() []string { return []string{a.Container} }

func (a LotOpened) check(s *state, _ Entry) error {
	lot, err := s.sealed(a.Lot)
	if err != nil {
		return err
	}
	if lot.Powder {
		return Problem{ErrMismatch, phrase.Say("%s is powder, which is mixed a whole packet at a time", a.Lot),
			phrase.Say("Enter the batch that was mixed from it")}
	}
	c, ok := s.containers[a.Container]
	if !ok {
		return nil
	}
	if c.Liquid != nil {
		return Problem{ErrTaken, phrase.Say("%s holds %s already", a.Container, ml(c.Liquid.volume)),
			phrase.Say("Give the opened bottle a name of its own")}
	}
	_, err = s.roomFor(a.Container, lot.UnitVolume, lot.Class)
	return err
}

func (a LotOpened) apply(s *state, e Entry) {
	lot := s.lots[a.Lot]
	lot.Opened++
	s.lots[a.Lot] = lot
	if _, ok := s.containers[a.Container]; !ok {
		s.containers[a.Container] = &Container{ID: a.Container, Vessel: Bottle, Capacity: lot.UnitVolume}
	}
	v := float64(lot.UnitVolume)
	l := Liquid{class: lot.Class, product: lot.Product, owner: lot.Owner, volume: lot.UnitVolume,
		shares: map[string]quantity.Millilitre{a.Lot: lot.UnitVolume}, strength: v, aim: v}
	s.put(a.Container, l.dated(e.At), e.At)
	s.in += lot.UnitVolume
}

// sealed is the lot when a bottle or packet of it is still closed.
func (s *state) sealed(id string) (Lot, error) {
	lot, ok := s.lots[id]
	if !ok {
		return Lot{}, Problem{ErrUnknown, phrase.Say("No lot is called %q at that time", id),
			phrase.Say("Check the name, or enter the delivery first")}
	}
	if lot.Opened >= lot.Units {
		return Lot{}, Problem{ErrNotEnough, phrase.Say("All %d of lot %s are opened already", lot.Units, id),
			phrase.Say("Check the lot, or enter the delivery that is missing")}
	}
	return lot, nil
}
