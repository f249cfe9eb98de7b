package ledger

import (
	"cmp"
	"math"
	"slices"
	"time"

	"wetside/chem"
	"wetside/sensors/quantity/phrase"
)

// pourTolerance is the relative error of strength that is let pass without a word (common practice).
const pourTolerance = 0.05

// Warnings says what a person should know before an entry that is possible:
// a vessel that last held another chemistry, or a liquid that may not be poured.
func (l *Ledger) Warnings(e Entry) []phrase.Sentence {
	switch a := e.Act.(type) {
	case BatchMixed:
		return slices.Concat(l.now.offStrength(a), l.now.unrinsed(a.Into, a.Class), l.doubtful(e, a.From))
	case PortionPoured:
		warnings := l.doubtful(e, a.From)
		if c, ok := l.now.containers[a.From]; ok && c.Liquid != nil {
			warnings = append(l.now.unrinsed(a.To, c.Liquid.class), warnings...)
		}
		return warnings
	case ToppedUp:
		return l.doubtful(e, a.From)
	case SheetsUsed:
		return l.throughNothing(e, a)
	}
	return nil
}

// throughNothing warns of sheets that went through a tray at a time when, by the record, nothing was in it.
func (l *Ledger) throughNothing(e Entry, a SheetsUsed) []phrase.Sentence {
	e.Number = cmp.Or(e.Number, l.Version()+1)
	s, err := l.with(e)
	if err != nil {
		return nil
	}
	dry := map[string]bool{} // by container: nothing was in it at the time of a late entry
	for _, u := range s.uses.all() {
		if u.Entry == e.Number {
			dry[u.Container] = u.Shares == nil
		}
	}
	var empty []phrase.Sentence
	for _, id := range a.Containers {
		if c := l.now.containers[id]; dry[id] || s == l.now && c != nil && c.Liquid == nil {
			empty = append(empty, phrase.Plain(id))
		}
	}
	if len(empty) == 0 {
		return nil
	}
	return []phrase.Sentence{phrase.Say("by the record nothing was in %s at that time: these sheets wear out no bath there. Check the time, "+
		"or enter the bath", phrase.Join(", ", empty...))}
}

// offStrength warns of a pour that comes out other than meant, with what repairs it.
func (s *state) offStrength(a BatchMixed) []phrase.Sentence {
	from, into := s.containers[a.From], s.containers[a.Into]
	if from == nil || into == nil || from.Liquid == nil || from.Liquid.unknown.strength || a.Aim == (Parts{}) {
		return nil
	}
	parent, target := from.Liquid, a.Aim.fraction()
	if a.Meant == FromStock {
		target *= float64(parent.aimed())
	}
	checked, err := chem.Pour{Parent: chem.Measure{Volume: a.ParentVolume, Division: a.Division},
		Water:          chem.Measure{Volume: a.Water, Division: a.Division},
		ParentStrength: parent.share(),
		Target:         chem.Strength(target), Vessel: into.Capacity, Tolerance: pourTolerance}.Check()
	switch {
	case err != nil || checked.Remedy == chem.UseAsItIs:
		return nil
	case checked.Remedy == chem.DiscardAndStartAgain || checked.Remedy == chem.NoVerdict:
		return []phrase.Sentence{phrase.Say("%s: %s", a.Into, checked.Reason)}
	}
	return []phrase.Sentence{phrase.Say("%s: %s, and enter it as a top-up", a.Into, checked.Reason)}
}

// unrinsed warns of an empty vessel that last held something else. A little
// fixer or stop bath ruins a developer (US Army photographic subcourse).
func (s *state) unrinsed(id string, class Class) []phrase.Sentence {
	c, ok := s.containers[id]
	if !ok || c.Liquid != nil || c.LastHeld == "" || c.LastHeld == class || c.Vessel == WasteContainer {
		return nil
	}
	return []phrase.Sentence{phrase.Say("%s last held %s: wash it well before %s goes in", id, c.LastHeld, class)}
}

func (l *Ledger) doubtful(e Entry, id string) []phrase.Sentence {
	if id == "" {
		return nil
	}
	a := l.MayPour(id, e.At)
	held, _ := l.Contents(id, e.At)
	if during, known := l.Session(e.Session); known && a.Verdict == TestFirst && held.Strength == nil && held.Passed(during.Opened) {
		return []phrase.Sentence{phrase.Say("%s: its test was passed in this session, and its strength is known by its label alone", id)}
	}
	if a.Verdict != Pour {
		return []phrase.Sentence{phrase.Say("%s: %s", id, a.Sentence())}
	}
	return nil
}

// Passed says whether a test of the bath, since some time, has shown nothing against it. Where a label alone says how
// strong a bath is, no test does away with the doubt, and whoever has tested the bath may pour it.
func (held Contents) Passed(since time.Time) bool {
	for kind, result := range held.Tests {
		if kind.Suits(held.Class) && result.Passed && result.At.After(since) {
			return true
		}
	}
	return false
}

// Repair is what puts the content of a vessel right whose mix surely came out other than was meant, with what stands
// in another vessel or with water; from is empty where there is water alone. It is false where the strength is near
// enough, or not known.
func (l *Ledger) Repair(container, from string) (chem.PourCheck, bool) {
	wrong, with := l.now.containers[container], l.now.containers[from]
	if wrong == nil || wrong.Liquid == nil || from != "" && (with == nil || with.Liquid == nil) {
		return chem.PourCheck{}, false
	}
	liquid := wrong.Liquid
	if gap := liquid.unknown; gap.strength || gap.aim || math.Abs(liquid.strength/liquid.aim-1)-liquid.spread/liquid.aim < strengthDoubt {
		return chem.PourCheck{}, false
	}
	pour := chem.Pour{Parent: chem.Measure{Volume: liquid.volume}, ParentStrength: liquid.share(), Target: liquid.aimed(),
		Vessel: wrong.Capacity, Tolerance: pourTolerance}
	if from != "" {
		if with.Liquid.unknown.strength || with.Liquid.product != liquid.product {
			return chem.PourCheck{}, false
		}
		pour.RepairWith = with.Liquid.share()
	}
	checked, err := pour.Check()
	return checked, err == nil
}
