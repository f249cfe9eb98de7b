package ledger

import (
	"cmp"
	"time"

	"wetside/sensors/quantity"
	"wetside/sensors/quantity/phrase"
)

// PortionPoured is liquid poured from one container into another, as from a
// bottle into a tray.
type PortionPoured struct {
	From   string              `json:"from"`
	To     string              `json:"to"`
	Volume quantity.Millilitre `json:"volume_ml"`
}

func (PortionPoured) Kind() string { return "portion poured" }

func (a PortionPoured) about() []string { return []string{a.From, a.To} }

func (a PortionPoured) Sentence() phrase.Sentence {
	return phrase.Say("%s poured from %s into %s", ml(a.Volume), a.From, a.To)
}

func (a PortionPoured) validate() error { return validateMove(a.From, a.To, a.Volume) }

func (a PortionPoured) fills() []string { return []string{a.To} }

func (a PortionPoured) check(s *state, e Entry) error { return s.checkMove(e, a) }

func (a PortionPoured) apply(s *state, e Entry) { s.applyMove(e, a) }

// ToppedUp is liquid or water added to what is in a container: From another
// container, or plain water, or both.
type ToppedUp struct {
	Container string              `json:"container"`
	From      string              `json:"from,omitempty"`
	Volume    quantity.Millilitre `json:"volume_ml,omitempty"` // out of From
	Water     quantity.Millilitre `json:"water_ml,omitempty"`
	WaterTemp *quantity.Celsius   `json:"water_c,omitempty"`
}

func (ToppedUp) Kind() string { return "topped up" }

func (a ToppedUp) about() []string { return named(a.Container, a.From) }

func (a ToppedUp) Sentence() phrase.Sentence {
	switch {
	case a.From == "":
		return phrase.Say("%s topped up with %s", a.Container, ofWater(a.Water, a.WaterTemp))
	case a.Water == 0:
		return phrase.Say("%s topped up with %s from %s", a.Container, ml(a.Volume), a.From)
	}
	return phrase.Say("%s topped up with %s from %s and %s", a.Container, ml(a.Volume), a.From, ofWater(a.Water, a.WaterTemp))
}

func (a ToppedUp) validate() error {
	err := first(needName(phrase.Say("vessel"), a.Container), maybeVolume(phrase.Say("The volume"), a.Volume),
		maybeVolume(phrase.Say("The water"), a.Water),
		needTemperature(phrase.Say("A water temperature"), a.WaterTemp))
	if err == nil && (a.From == "") != (a.Volume == 0) {
		err = Problem{ErrForm, phrase.Say("A top-up from a vessel needs its name and the volume"), phrase.Say("Write both, or only the water")}
	}
	if err == nil && a.Volume+a.Water == 0 {
		err = Problem{ErrVolume, phrase.Say("Nothing was added"), phrase.Say("Write how much was added")}
	}
	if err == nil && a.From != "" {
		err = validateMove(a.From, a.Container, a.Volume)
	}
	return err
}

func (a ToppedUp) check(s *state, e Entry) error {
	into, err := s.holding(a.Container)
	if err != nil {
		return err
	}
	if _, err := s.roomFor(a.Container, a.Volume+a.Water, into.Liquid.class); err != nil {
		return err
	}
	if a.From != "" {
		return s.checkMove(e, PortionPoured{a.From, a.Container, a.Volume})
	}
	if s.sortOf(*into.Liquid) == FromConcentrate {
		return Problem{ErrMismatch, phrase.Say("%s holds concentrate: with water it becomes a batch", a.Container),
			phrase.Say("Enter the batch that was mixed from it, with its parts")}
	}
	_, err = s.sessionOf(e)
	return err
}

func (a ToppedUp) apply(s *state, e Entry) {
	if a.From != "" {
		if s.sortOf(*s.containers[a.Container].Liquid) != FromConcentrate { // stock used, as when it was mixed
			added := *s.containers[a.From].Liquid
			added.volume = a.Volume
			s.drew(e, added)
		}
		s.applyMove(e, PortionPoured{a.From, a.Container, a.Volume})
	}
	if a.Water == 0 {
		return
	}
	c := s.containers[a.Container]
	c.airOut(e.At)
	diluted := c.Liquid.withWater(a.Water)
	c.Liquid = &diluted
	s.in += a.Water
	s.flowed(e, mixedIn, c, Liquid{class: diluted.class, volume: a.Water})
}

// Returned is liquid put back into storage. Emptied says that nothing stayed in
// the vessel, so that what is missing was carried over, evaporated or lost.
type Returned struct {
	From    string              `json:"from"`
	To      string              `json:"to"`
	Volume  quantity.Millilitre `json:"volume_ml"`
	Emptied bool                `json:"emptied"`
}

func (Returned) Kind() string { return "returned" }

func (a Returned) about() []string { return []string{a.From, a.To} }

func (a Returned) Sentence() phrase.Sentence {
	return phrase.Say("%s returned from %s to %s", ml(a.Volume), a.From, a.To)
}

func (a Returned) validate() error { return validateMove(a.From, a.To, a.Volume) }

func (a Returned) check(s *state, e Entry) error {
	return s.checkMove(e, PortionPoured{a.From, a.To, a.Volume})
}

func (a Returned) apply(s *state, e Entry) {
	if a.Emptied {
		s.lose(a.From, a.Volume, e.At)
	}
	s.applyMove(e, PortionPoured{a.From, a.To, a.Volume})
}

// Discarded is liquid got rid of: into a waste container, or otherwise, with
// the route in words. Emptied is as for Returned.
type Discarded struct {
	Container string              `json:"container"`
	Volume    quantity.Millilitre `json:"volume_ml"`
	Emptied   bool                `json:"emptied"`
	To        string              `json:"to,omitempty"`    // waste container
	Route     string              `json:"route,omitempty"` // when it did not go into a waste container
	Reason    string              `json:"reason"`
}

func (Discarded) Kind() string { return "discarded" }

func (a Discarded) about() []string { return named(a.Container, a.To) }

func (a Discarded) Sentence() phrase.Sentence {
	if a.To == "" {
		return phrase.Say("%s from %s discarded: %s (%s)", ml(a.Volume), a.Container, a.Route, a.Reason)
	}
	return phrase.Say("%s from %s discarded into %s (%s)", ml(a.Volume), a.Container, a.To, a.Reason)
}

func (a Discarded) validate() error {
	err := first(needName(phrase.Say("vessel"), a.Container), needVolume(phrase.Say("The volume"), a.Volume),
		needName(phrase.Say("reason"), a.Reason))
	if err == nil && (a.To == "") == (a.Route == "") {
		err = Problem{ErrForm, phrase.Say("Where the liquid went is missing"),
			phrase.Say("Name the waste container, or say in words where the liquid went")}
	}
	return first(err, maybeName(phrase.Say("waste container"), a.To), maybeName(phrase.Say("route"), a.Route))
}

// Amount is what was discarded.
func (a Discarded) Amount() quantity.Millilitre { return a.Volume }

func (a Discarded) check(s *state, e Entry) error {
	if a.To == "" {
		_, err := s.drawable(a.Container, a.Volume)
		if err == nil {
			_, err = s.sessionOf(e)
		}
		return err
	}
	if to, err := s.container(a.To); err != nil || to.Vessel != WasteContainer {
		return first(err, Problem{ErrMismatch, phrase.Say("%s is no waste container", a.To),
			phrase.Say("Choose a waste container, or enter a return")})
	}
	return s.checkMove(e, PortionPoured{a.Container, a.To, a.Volume})
}

func (a Discarded) apply(s *state, e Entry) {
	if a.Emptied {
		s.lose(a.Container, a.Volume, e.At)
	}
	if a.To != "" {
		s.applyMove(e, PortionPoured{a.Container, a.To, a.Volume})
		return
	}
	l := s.draw(a.Container, a.Volume, e.At)
	s.out += l.volume
	s.flowed(e, discardedOut, s.containers[a.Container], l)
}

// Merged is all of one container poured together with another.
type Merged struct {
	From string `json:"from"`
	Into string `json:"into"`
}

func (Merged) Kind() string { return "merged" }

func (a Merged) about() []string { return []string{a.From, a.Into} }

func (a Merged) Sentence() phrase.Sentence {
	return phrase.Say("%s combined with %s", a.From, a.Into)
}

func (a Merged) validate() error { return validateMove(a.From, a.Into, 1) }

func (a Merged) check(s *state, e Entry) error {
	if _, err := s.holding(a.Into); err != nil {
		return err
	}
	return s.checkWhole(e, a.From, a.Into)
}

func (a Merged) apply(s *state, e Entry) {
	s.applyMove(e, PortionPoured{a.From, a.Into, s.containers[a.From].Liquid.volume})
}

// Promoted is a second fixing bath that becomes the first: the liquid moves,
// with its whole history, into the empty place of the first bath.
type Promoted struct {
	From string `json:"from"`
	To   string `json:"to"`
}

func (Promoted) Kind() string { return "promoted" }

func (a Promoted) about() []string { return []string{a.From, a.To} }

func (a Promoted) Sentence() phrase.Sentence {
	return phrase.Say("%s moved up to %s", a.From, a.To)
}

func (a Promoted) validate() error { return validateMove(a.From, a.To, 1) }

func (a Promoted) fills() []string { return []string{a.To} }

func (a Promoted) check(s *state, e Entry) error {
	to, err := s.container(a.To)
	if err != nil {
		return err
	}
	if to.Liquid != nil {
		return Problem{ErrTaken, phrase.Say("%s still holds %s of the first bath", a.To, ml(to.Liquid.volume)),
			phrase.Say("Discard the first bath, then promote the second")}
	}
	return s.checkWhole(e, a.From, a.To)
}

func (a Promoted) apply(s *state, e Entry) {
	to := s.containers[a.To]
	moved := to.rotations
	if to.LastHeld == Fixer {
		moved++
	}
	s.applyMove(e, PortionPoured{a.From, a.To, s.containers[a.From].Liquid.volume})
	to.Liquid.row.Second, to.Liquid.row.Rotations = false, max(moved, to.Liquid.row.Rotations)
}

func validateMove(from, to string, v quantity.Millilitre) error {
	err := first(needName(phrase.Say("vessel"), from), needName(phrase.Say("vessel"), to), needVolume(phrase.Say("The volume"), v))
	if err == nil && from == to {
		err = Problem{ErrForm, phrase.Say("Both vessels are %s", from), phrase.Say("Choose where it went")}
	}
	return err
}

func (s *state) checkWhole(e Entry, from, to string) error {
	c, err := s.holding(from)
	if err != nil {
		return err
	}
	return s.checkMove(e, PortionPoured{from, to, c.Liquid.volume})
}

func (s *state) checkMove(e Entry, p PortionPoured) error {
	from, err := s.drawable(p.From, p.Volume)
	if err != nil {
		return err
	}
	class := from.Liquid.class
	if to := s.containers[p.To]; to != nil && to.Vessel == WasteContainer && to.Stream == from.Liquid.stream() {
		class = to.Stream.class()
	}
	_, err = s.roomFor(p.To, p.Volume, class)
	if err == nil {
		_, err = s.sessionOf(e)
	}
	return err
}

func (s *state) applyMove(e Entry, p PortionPoured) {
	from, to := s.containers[p.From], s.containers[p.To]
	home := p.From
	if from.Vessel.Working() && from.FilledFrom != "" {
		home = from.FilledFrom
	}
	l := s.draw(p.From, p.Volume, e.At)
	held := to.Liquid
	if held != nil && l.unused() && s.sortOf(l) == FromConcentrate && s.sortOf(*held) != FromConcentrate {
		l = l.dated(e.At) // its days in the bottle are none of the bath's
	}
	s.put(p.To, l, e.At)
	if held == nil { // a bath does not go back where it was topped up from
		to.FilledFrom = cmp.Or(to.FilledFrom, home)
	}
	if from.Vessel.Working() == to.Vessel.Working() { // nothing came into the trays or went out of them
		return
	}
	out := returnedOut
	if to.Vessel == WasteContainer {
		out = discardedOut
	}
	s.flowed(e, out, from, l)
	s.flowed(e, broughtIn, to, l)
}

// lose leaves exactly v in the container and counts the rest as lost.
func (s *state) lose(id string, v quantity.Millilitre, at time.Time) {
	c := s.containers[id]
	c.airOut(at)
	rest := c.Liquid.volume - v
	if rest <= 0 {
		return
	}
	s.out += rest
	kept := c.Liquid.shrunk(v)
	c.Liquid = &kept
}
