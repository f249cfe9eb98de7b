package ledger

import (
	"maps"
	"slices"
	"strings"

	"wetside/sensors/quantity"
	"wetside/sensors/quantity/phrase"
)

// SheetsUsed is paper or film that went through one or more baths, in their order. Nobody need
// have logged what was in a bath: the use waits for the late entry.
type SheetsUsed struct {
	Containers []string             `json:"containers"`
	Material   Material             `json:"material"`
	Count      int                  `json:"count"`
	SheetArea  quantity.SquareMetre `json:"sheet_m2"` // of one sheet or roll
	People     []string             `json:"people,omitempty"`
}

func (SheetsUsed) Kind() string { return "sheets used" }

func (a SheetsUsed) about() []string { return a.Containers }

func (a SheetsUsed) Sentence() phrase.Sentence {
	return phrase.Say("%d × %s of %s through %s", a.Count, sheetName(a.SheetArea), a.Material, strings.Join(a.Containers, ", "))
}

func (a SheetsUsed) validate() error {
	err := first(needSome(phrase.Say("bath"), a.Containers), oneOf(phrase.Say("material"), a.Material, Materials()...),
		needNames(phrase.Say("person"), a.People))
	if err == nil && (a.Count < 1 || a.Count > 100000) {
		err = Problem{ErrForm, phrase.Say("%d sheets cannot be counted", a.Count), phrase.Say("Write how many went through, at least 1")}
	}
	if err == nil && !(a.SheetArea > 0 && a.SheetArea <= 10) {
		err = Problem{ErrForm, phrase.Say("A sheet of %g m² is not known", float64(a.SheetArea)), phrase.Say("Choose the size of the sheet")}
	}
	return err
}

func (a SheetsUsed) fills() []string { return a.Containers }

func (a SheetsUsed) touches() []string { return nil } // adds to a bath and contradicts nobody

func (a SheetsUsed) check(s *state, e Entry) error {
	for _, id := range a.Containers {
		c, err := s.container(id)
		if err != nil {
			return err
		}
		if !c.Vessel.Working() {
			return Problem{ErrMismatch, phrase.Say("%s is a %s: nothing is processed in it", id, c.Vessel), phrase.Say("Choose the tray or tank")}
		}
	}
	_, err := s.sessionOf(e)
	return err
}

func (a SheetsUsed) apply(s *state, e Entry) {
	area := a.SheetArea * quantity.SquareMetre(a.Count)
	var fixed, before *Liquid // the silver-bearing bath and the fixing bath that the sheets come from
	for _, id := range a.Containers {
		c := s.containers[id]
		use := Use{Entry: e.Number, At: e.At, Session: s.session(e), Container: id, Class: UnknownClass,
			Count: a.Count, Area: area, People: slices.Clone(a.People), By: e.By}
		if l := c.Liquid; l != nil {
			l.load = l.load.plus(loadOf(a.Material, area))
			l.uses, l.uncleared = append(l.uses, s.uses.len()), append(l.uncleared, s.uses.len())
			if l.class.Stream() == SilverStream || l.class == WashAid && fixed != nil {
				l.silver = l.silver.plus(silverOf(area, fixed))
				fixed = l
			}
			if l.class == Fixer {
				l.fixedAfter(before, loadOf(a.Material, area))
				before = l
			}
			use.Class, use.Density, use.Shares = l.class, l.density(), l.fractions()
			for _, id := range slices.Sorted(maps.Keys(use.Shares)) { // one order: a sum in another is another in its last digit
				if b, known := s.batches.get(id); known {
					s.areas[b.Product] += use.Shares[id] * float64(area)
				}
			}
		}
		s.uses.add(use)
	}
}

// fractions is the part of each batch in the liquid, 0 to 1; the map is not to be changed.
func (l *Liquid) fractions() map[string]float64 {
	if l.parts == nil {
		l.parts = make(map[string]float64, len(l.shares))
		for id, v := range l.shares {
			l.parts[id] = float64(v / l.volume)
		}
	}
	return l.parts
}

// BottleFound is a bottle that nobody can account for: a normal event. What is
// in it is treated as silver-bearing until shown otherwise (common practice).
type BottleFound struct {
	Container string              `json:"container"`
	Volume    quantity.Millilitre `json:"volume_ml"`
	Capacity  quantity.Millilitre `json:"capacity_ml"`
	Where     string              `json:"where"`
	Looks     string              `json:"looks,omitempty"` // colour, smell, what is written on it
}

func (BottleFound) Kind() string { return "bottle found" }

func (a BottleFound) about() []string { return []string{a.Container} }

func (a BottleFound) Sentence() phrase.Sentence {
	return phrase.Say("unknown bottle %s found, %s, %s", a.Container, ml(a.Volume), a.Where)
}

func (a BottleFound) validate() error {
	err := first(needName(phrase.Say("vessel"), a.Container), needVolume(phrase.Say("The volume"), a.Volume),
		needVolume(phrase.Say("The bottle"), a.Capacity),
		needName(phrase.Say("place"), a.Where), maybeName(phrase.Say("looks"), a.Looks))
	if err == nil && a.Volume > a.Capacity {
		err = Problem{ErrVolume, phrase.Say("%s do not fit in a bottle of %s", ml(a.Volume), ml(a.Capacity)), phrase.Say("Check both")}
	}
	return err
}

func (a BottleFound) check(s *state, _ Entry) error {
	if _, ok := s.containers[a.Container]; ok || s.nameTaken(a.Container) {
		return Problem{ErrTaken, phrase.Say("%q is already recorded", a.Container),
			phrase.Say("Give the found bottle a name of its own and write it on the bottle")}
	}
	return nil
}

func (a BottleFound) apply(s *state, e Entry) {
	s.containers[a.Container] = &Container{ID: a.Container, Vessel: Bottle, Capacity: a.Capacity}
	s.put(a.Container, Liquid{class: UnknownClass, owner: House, volume: a.Volume,
		shares:  map[string]quantity.Millilitre{a.Container: a.Volume},
		unknown: gaps{age: true, strength: true, aim: true}}, e.At)
	s.in += a.Volume
}

// WasteAdded is waste that does not come out of a container of the book, such
// as the rinse of a tray.
type WasteAdded struct {
	Container string              `json:"container"`
	Volume    quantity.Millilitre `json:"volume_ml"`
	What      string              `json:"what"`
}

func (WasteAdded) Kind() string { return "waste added" }

func (a WasteAdded) about() []string { return []string{a.Container} }

func (a WasteAdded) Sentence() phrase.Sentence {
	return phrase.Say("%s of %s added to %s", ml(a.Volume), a.What, a.Container)
}

func (a WasteAdded) validate() error {
	return first(needName(phrase.Say("waste container"), a.Container), needVolume(phrase.Say("The volume"), a.Volume),
		needName(phrase.Say("waste (in words)"), a.What))
}

// Amount is what was added.
func (a WasteAdded) Amount() quantity.Millilitre { return a.Volume }

func (a WasteAdded) check(s *state, _ Entry) error {
	c, err := s.container(a.Container)
	if err == nil && c.Vessel != WasteContainer {
		err = Problem{ErrMismatch, phrase.Say("%s is no waste container", a.Container), phrase.Say("Choose a waste container")}
	}
	if err == nil {
		_, err = s.roomFor(a.Container, a.Volume, c.Stream.class())
	}
	return err
}

func (a WasteAdded) apply(s *state, e Entry) {
	class := s.containers[a.Container].Stream.class()
	s.put(a.Container, Liquid{class: class, volume: a.Volume}, e.At)
	s.in += a.Volume
}

func (w Stream) class() Class {
	switch w {
	case SilverStream:
		return UnknownClass
	case TonerStream:
		return Toner
	}
	return StopBath
}

// WasteCollected is a waste container taken away.
type WasteCollected struct {
	Container string `json:"container"`
	Collector string `json:"collector"`
	Reference string `json:"reference,omitempty"` // of the paper that goes with it
}

func (WasteCollected) Kind() string { return "waste collected" }

func (a WasteCollected) about() []string { return []string{a.Container} }

func (a WasteCollected) Sentence() phrase.Sentence {
	return phrase.Say("%s collected by %s", a.Container, a.Collector)
}

func (a WasteCollected) validate() error {
	return first(needName(phrase.Say("waste container"), a.Container), needName(phrase.Say("collector"), a.Collector),
		maybeName(phrase.Say("reference"), a.Reference))
}

func (a WasteCollected) check(s *state, _ Entry) error {
	c, err := s.holding(a.Container)
	if err == nil && c.Vessel != WasteContainer {
		err = Problem{ErrMismatch, phrase.Say("%s is no waste container", a.Container), phrase.Say("Choose a waste container")}
	}
	return err
}

func (a WasteCollected) apply(s *state, _ Entry) {
	c := s.containers[a.Container]
	s.out += c.Liquid.volume
	c.emptied()
}

func needNames(what phrase.Sentence, names []string) error {
	for _, name := range names {
		if err := needName(what, name); err != nil {
			return err
		}
	}
	return nil
}

func needSome(what phrase.Sentence, names []string) error {
	if len(names) == 0 {
		return Problem{ErrForm, phrase.Say("No %s is named", what), phrase.Say("Choose at least one %s", what)}
	}
	if len(slices.Compact(slices.Sorted(slices.Values(names)))) < len(names) {
		return Problem{ErrForm, phrase.Say("A %s is named twice", what), phrase.Say("Name each %s once", what)}
	}
	return needNames(what, names)
}

func sortedKeys[V any](m map[string]V) []string { return slices.Sorted(maps.Keys(m)) }
