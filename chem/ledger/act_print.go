package ledger

import (
	"cmp"
	"time"

	"wetside/chem"
	"wetside/sensors/quantity/phrase"
)

// PrintTimed is a print that somebody found right: when its image came, and how
// long it was in the developer. Enough of them make a person's own factor.
type PrintTimed struct {
	Container string  `json:"container"`
	Emergence float64 `json:"emergence_s"`
	Seconds   float64 `json:"seconds"`
	Person    string  `json:"person,omitempty"` // who judged it; empty for who enters it
}

func (PrintTimed) Kind() string { return "print timed" }

func (a PrintTimed) about() []string { return []string{a.Container} }

func (a PrintTimed) Sentence() phrase.Sentence {
	return phrase.Say("timed a good print: first tone after %s, %s in all, in %s", inSecondsOf(a.Emergence), inSecondsOf(a.Seconds),
		a.Container)
}

func (a PrintTimed) validate() error {
	err := first(needName(phrase.Say("vessel"), a.Container), maybeName(phrase.Say("person"), a.Person))
	switch {
	case err != nil:
		return err
	case !seconds(a.Emergence):
		return badSeconds(a.Emergence)
	case !seconds(a.Seconds):
		return badSeconds(a.Seconds)
	case a.Seconds <= a.Emergence:
		return Problem{ErrForm, phrase.Say("The image came after %g s and the print was developed for %g s", a.Emergence, a.Seconds),
			phrase.Say("Write the first appearance and the whole time, which is longer")}
	}
	return nil
}

func (a PrintTimed) touches() []string { return nil }

func (a PrintTimed) check(s *state, _ Entry) error {
	c, err := s.holding(a.Container)
	if err == nil && !c.Liquid.class.Developer() {
		err = Problem{ErrMismatch, phrase.Say("%s holds %s, not a developer", a.Container, c.Liquid.class),
			phrase.Say("Choose the tray of the developer")}
	}
	return err
}

func (a PrintTimed) apply(s *state, e Entry) {
	person := cmp.Or(a.Person, e.By)
	s.timed.add(timedPrint{s.containers[a.Container].Liquid.product,
		chem.Observation{Person: person, Emergence: inSeconds(a.Emergence), Total: inSeconds(a.Seconds)}})
}

func inSeconds(s float64) time.Duration { return time.Duration(s * float64(time.Second)) }

// timedPrint is a print that was found right, and the product that it was developed in.
type timedPrint struct {
	product string
	seen    chem.Observation
}

// Factor is a person's development factor for a product, or the average over
// everybody; too few prints are a [chem.Refusal].
func (l *Ledger) Factor(product, person string) (chem.Factor, error) {
	var seen []chem.Observation
	for _, t := range l.now.timed.all() {
		if t.product == product {
			seen = append(seen, t.seen)
		}
	}
	return chem.FactorOf(person, seen)
}

// Judges lists who timed prints in a product, by name.
func (l *Ledger) Judges(product string) []string {
	names := map[string]bool{}
	for _, t := range l.now.timed.all() {
		if t.product == product {
			names[t.seen.Person] = true
		}
	}
	return sortedKeys(names)
}
