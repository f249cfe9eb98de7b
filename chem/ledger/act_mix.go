package ledger

import (
	"math"
	"slices"

	"wetside/chem"
	"wetside/sensors/quantity"
	"wetside/sensors/quantity/phrase"
)

// ParentSort says what a person took a batch to be mixed from.
type ParentSort string

// What a batch is mixed from. FromUnknown is a mix that somebody else made.
const (
	FromConcentrate ParentSort = "concentrate"
	FromStock       ParentSort = "stock"
	FromPowder      ParentSort = "powder"
	FromUnknown     ParentSort = "unknown"
)

// BatchMixed is a batch made from a parent and water. The parent is a
// container (From), a packet of powder (Lot), or not known.
type BatchMixed struct {
	Batch            string              `json:"batch"`
	Name             string              `json:"name"`
	Product          string              `json:"product,omitempty"` // in the catalogue
	Class            Class               `json:"class"`
	Into             string              `json:"into"`
	Meant            ParentSort          `json:"meant"`
	From             string              `json:"from,omitempty"`
	Lot              string              `json:"lot,omitempty"`
	ParentVolume     quantity.Millilitre `json:"parent_ml,omitempty"`
	Water            quantity.Millilitre `json:"water_ml,omitempty"`
	Total            quantity.Millilitre `json:"total_ml,omitempty"`    // when it was measured as well
	Division         quantity.Millilitre `json:"division_ml,omitempty"` // the smallest mark on the graduates; 0 when nobody said
	Aim              Parts               `json:"aim,omitzero"`          // of the parent that was meant
	WaterTemperature *quantity.Celsius   `json:"water_c,omitempty"`
	MixTemperature   *quantity.Celsius   `json:"mix_c,omitempty"`
	Owner            Owner               `json:"owner"`
	With             string              `json:"with,omitempty"`      // the pitcher that it was measured with
	Confirmed        bool                `json:"confirmed,omitempty"` // it was poured like this although the parent is not the one meant
}

func (BatchMixed) Kind() string { return "batch mixed" }

func (a BatchMixed) about() []string { return named(a.Batch, a.Lot, a.From, a.Into) }

func (a BatchMixed) Sentence() phrase.Sentence {
	if a.MixTemperature != nil {
		return phrase.Say("%s, at %s once mixed", a.poured(), a.MixTemperature.To(0.1))
	}
	return a.poured()
}

func (a BatchMixed) poured() phrase.Sentence {
	switch {
	case a.Meant == FromUnknown: // nobody said who mixed it, and when
		return phrase.Say("%s (batch %s), %s, listed as found in %s", a.Name, a.Batch, ml(a.ParentVolume+a.Water), a.Into)
	case a.From == "":
		return phrase.Say("%s (batch %s), %s, mixed into %s", a.Name, a.Batch, ml(a.ParentVolume+a.Water), a.Into)
	}
	return phrase.Say("%s (batch %s): %s from %s and %s, into %s", a.Name, a.Batch, ml(a.ParentVolume), a.From,
		ofWater(a.Water, a.WaterTemperature), a.Into)
}

// ofWater is an amount of water, with its temperature where somebody gave one.
func ofWater(v quantity.Millilitre, t *quantity.Celsius) phrase.Sentence {
	if t == nil {
		return phrase.Say("%s of water", ml(v))
	}
	return phrase.Say("%s of water at %s", ml(v), t.To(0.1))
}

func (a BatchMixed) validate() error {
	return first(needName(phrase.Say("batch"), a.Batch), needName(phrase.Say("batch (in words)"), a.Name), maybeName(phrase.Say("product"),
		a.Product), needClass(a.Class),
		needName(phrase.Say("vessel"), a.Into), oneOf(phrase.Say("source"), a.Meant, FromConcentrate, FromStock, FromPowder, FromUnknown),
		a.parentNamed(), a.sum(), a.marks(), a.Aim.validate(), needTemperature(phrase.Say("A water temperature"), a.WaterTemperature),
		needTemperature(phrase.Say("A temperature of the mix"), a.MixTemperature), a.Owner.validate(),
		maybeName(phrase.Say("pitcher"), a.With))
}

func (a BatchMixed) parentNamed() error {
	switch {
	case a.Meant == FromPowder && (a.Lot == "" || a.From != "" || a.ParentVolume != 0):
		return Problem{ErrForm, phrase.Say("A batch from powder comes from one packet of a lot"),
			phrase.Say("Name the lot, and write what it was made up to as water")}
	case (a.Meant == FromConcentrate || a.Meant == FromStock) && (a.From == "" || a.Lot != "" || a.ParentVolume == 0):
		return Problem{ErrForm, phrase.Say("A dilution comes from a vessel"),
			phrase.Say("Name the vessel and write how much was taken from it; if nobody knows, choose \"unknown\"")}
	case a.Meant == FromUnknown && (a.From != "" || a.Lot != "" || a.ParentVolume != 0):
		return Problem{ErrForm, phrase.Say("You entered an amount of concentrate but chose \"unknown\""),
			phrase.Say("Say what the batch was mixed from")}
	}
	return first(maybeName(phrase.Say("bottle of concentrate or stock"), a.From), maybeName(phrase.Say("lot"), a.Lot))
}

// sum checks that the volumes add up, within 2 % or 5 mL, the reading of a graduate (common practice).
func (a BatchMixed) sum() error {
	volume := a.ParentVolume + a.Water
	err := first(maybeVolume(phrase.Say("The concentrate or stock"), a.ParentVolume), maybeVolume(phrase.Say("The water"), a.Water),
		maybeVolume(phrase.Say("The total"), a.Total), needVolume(phrase.Say("The batch"), volume))
	if err != nil || a.Total == 0 {
		return err
	}
	if math.Abs(float64(volume-a.Total)) > math.Max(5, 0.02*float64(a.Total)) {
		return Problem{ErrVolume, phrase.Say("%s of concentrate or stock and %s of water make %s, not %s", ml(a.ParentVolume), ml(a.Water),
			ml(volume),
			ml(a.Total)),
			phrase.Say("Check which of the three is wrong")}
	}
	return nil
}

// marks checks that the graduate has finer marks than what was measured with it.
func (a BatchMixed) marks() error {
	if a.Division > a.ParentVolume+a.Water {
		return Problem{ErrVolume, phrase.Say("%s is more than the volume measured", ml(a.Division)),
			phrase.Say("Write the smallest mark on the graduate, such as 5 mL")}
	}
	return maybeVolume(phrase.Say("The smallest mark"), a.Division)
}

// spread is the relative plus-or-minus of the strength, by the marks of the graduates.
func (a BatchMixed) spread() float64 {
	if a.ParentVolume == 0 { // a packet of powder, made up to a volume
		return float64(a.Division / 2 / a.Water)
	}
	return chem.MixUncertainty(chem.Measure{Volume: a.ParentVolume, Division: a.Division}, chem.Measure{Volume: a.Water, Division: a.Division})
}

// Amount is everything that was mixed.
func (a BatchMixed) Amount() quantity.Millilitre { return a.ParentVolume + a.Water }

func (a BatchMixed) fills() []string { return []string{a.Into} }

func (a BatchMixed) touches() []string {
	return slices.DeleteFunc([]string{a.Into, a.From}, func(id string) bool { return id == "" })
}

func (a BatchMixed) check(s *state, e Entry) error {
	if s.nameTaken(a.Batch) {
		return Problem{ErrTaken, phrase.Say("%q is already recorded", a.Batch), phrase.Say("Give the batch another name")}
	}
	into, err := s.roomFor(a.Into, a.ParentVolume+a.Water, a.Class)
	if err != nil {
		return err
	}
	if into.Liquid != nil {
		return Problem{ErrTaken, phrase.Say("%s holds %s already", a.Into, ml(into.Liquid.volume)),
			phrase.Say("Empty it first, or enter a top-up instead")}
	}
	if _, err := s.sessionOf(e); err != nil {
		return err
	}
	if err := s.measuredWith(a.With, a.Class); err != nil {
		return err
	}
	if a.Meant == FromPowder {
		return a.checkPowder(s)
	}
	return a.checkParent(s)
}

func (a BatchMixed) checkPowder(s *state) error {
	lot, err := s.sealed(a.Lot)
	if err == nil && (!lot.Powder || lot.Class != a.Class) {
		err = Problem{ErrMismatch, phrase.Say("Lot %s is not powder of %s", a.Lot, a.Class), phrase.Say("Check the lot")}
	}
	return err
}

func (a BatchMixed) checkParent(s *state) error {
	if a.From == "" {
		return nil
	}
	parent, err := s.drawable(a.From, a.ParentVolume)
	if err != nil {
		return err
	}
	if parent.Liquid.class != a.Class {
		return Problem{ErrMismatch, phrase.Say("%s holds %s and the batch is %s", a.From, parent.Liquid.class, a.Class),
			phrase.Say("Check the vessel")}
	}
	is := s.sortOf(*parent.Liquid)
	if is == a.Meant || a.Confirmed {
		return nil
	}
	return Problem{ErrMismatch, a.mistaken(*parent.Liquid, is),
		phrase.Say("Choose the vessel you meant, or confirm that it was poured like this")}
}

// mistaken says what the container holds instead, and what the mistake would come to.
func (a BatchMixed) mistaken(parent Liquid, is ParentSort) phrase.Sentence {
	s := parent.strength / float64(parent.volume)
	if parent.unknown.strength || s >= 0.999 || a.Meant != FromConcentrate {
		return phrase.Say("%s holds %s, not %s", a.From, is, a.Meant)
	}
	return phrase.Say("%s holds %s, not %s: the mix would be %.1f times weaker than meant", a.From, is, a.Meant, 1/s)
}

// sortOf says what a liquid is as a parent: concentrate when all of it comes from lots.
func (s *state) sortOf(l Liquid) ParentSort {
	sort := FromConcentrate
	for id := range l.shares {
		if _, ok := s.batches.get(id); ok {
			sort = FromStock
		} else if _, ok := s.lots[id]; !ok {
			return FromUnknown
		}
	}
	return sort
}

func (a BatchMixed) apply(s *state, e Entry) {
	b := Batch{ID: a.Batch, Name: a.Name, Product: a.Product, Class: a.Class, Owner: a.Owner, Meant: a.Meant, Aim: a.Aim,
		ParentVolume: a.ParentVolume, Water: a.Water, Volume: a.ParentVolume + a.Water, Mixed: e.At, By: e.By}
	l := a.parent(s, e, &b)
	volume, drawn := float64(b.Volume), l.volume
	l.class, l.product, l.owner, l.volume = a.Class, a.Product, a.Owner, b.Volume
	l.shares, l.parts = map[string]quantity.Millilitre{a.Batch: b.Volume}, nil
	l.aim, l.unknown.aim = b.AimStrength*volume, b.AimStrength == 0
	if !l.unknown.strength {
		l.spread += a.spread() * l.strength
		b.Strength, b.StrengthSpread = l.strength/volume, l.spread/l.strength
	}
	l = l.dated(e.At)
	s.batches.set(a.Batch, b)
	s.put(a.Into, l, e.At)
	s.in += b.Volume - drawn
	s.flowed(e, mixedIn, s.containers[a.Into], l)
}

// parent draws what the batch is made from and notes its origins.
func (a BatchMixed) parent(s *state, e Entry, b *Batch) Liquid {
	switch {
	case a.From != "":
		l := s.draw(a.From, a.ParentVolume, e.At)
		s.flowed(e, returnedOut, s.containers[a.From], l)
		b.Parents = l.origins()
		b.AimStrength = a.Aim.fraction()
		if a.Meant == FromStock {
			b.AimStrength *= l.aim / float64(l.volume)
			l.unknown.aim = false
		}
		s.drew(e, l)
		return l
	case a.Lot != "":
		lot := s.lots[a.Lot]
		lot.Opened++
		s.lots[a.Lot] = lot
		b.Parents, b.AimStrength = []string{a.Lot}, 1
		s.drawn.add(draw{s.session(e), lot.Product, lot.UnitVolume})
		return Liquid{strength: float64(lot.UnitVolume)}
	}
	return Liquid{unknown: gaps{strength: true}}
}

// drew notes stock used when concentrate was taken.
func (s *state) drew(e Entry, l Liquid) {
	if s.sortOf(l) == FromConcentrate {
		s.drawn.add(draw{s.session(e), l.product, l.volume})
	}
}

// PitcherFor is the pitcher that is kept for a class; empty when there is none.
func (l *Ledger) PitcherFor(class Class) string {
	for c := range l.now.vessels() {
		if c.Vessel == Pitcher && c.KeptFor == class {
			return c.ID
		}
	}
	return ""
}

// measuredWith refuses a pitcher that is kept for another chemical: a little fixer or stop bath
// ruins a developer, and fixer is the hardest to wash out (US Army photographic subcourse).
func (s *state) measuredWith(id string, class Class) error {
	if id == "" {
		return nil
	}
	c, err := s.container(id)
	switch {
	case err != nil:
		return err
	case c.Vessel != Pitcher:
		return Problem{ErrMismatch, phrase.Say("%s is a %s, not a pitcher", id, c.Vessel),
			phrase.Say("Choose the pitcher, or leave the field empty")}
	case c.KeptFor != class:
		return Problem{ErrMismatch, phrase.Say("%s is kept for %s and this is %s: what clings to a pitcher spoils the next bath", id,
			c.KeptFor, class),
			phrase.Say("Use the pitcher that is kept for %s. If this one was really used, discard the mix and start again", class)}
	}
	return nil
}
