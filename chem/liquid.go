package chem

import (
	"strings"

	"wetside/sensors/quantity/phrase"
)

// Liquid is something that can be diluted, known by name and by what it was made
// from, so that a working solution from stock is never taken for one from
// concentrate. The zero Liquid is nothing.
type Liquid struct {
	name     string
	strength Strength
	chain    []link
}

type link struct {
	name, parent string
	parts        Parts
}

// NewConcentrate is the undiluted origin of a chain.
func NewConcentrate(name string) (Liquid, error) {
	if strings.TrimSpace(name) == "" {
		return Liquid{}, phrase.Errorf("a concentrate needs a name, such as its lot")
	}
	return Liquid{name: strings.TrimSpace(name), strength: 1}, nil
}

// Dilute makes a named liquid from parts of this one and parts of water.
func (l Liquid) Dilute(name string, p Parts) (Liquid, error) {
	switch {
	case !l.Known():
		return Liquid{}, phrase.Errorf("a dilution needs a named parent: a lot of concentrate or a batch of stock")
	case strings.TrimSpace(name) == "":
		return Liquid{}, phrase.Errorf("the dilution %s of %s needs a name", p, l.name)
	case !p.Known():
		return Liquid{}, phrase.Errorf("the dilution of %s is not given: write it like 1+9", l.name)
	}
	made := Liquid{name: strings.TrimSpace(name), strength: l.strength * p.Strength()}
	made.chain = append(append(made.chain, link{name: made.name, parent: l.name, parts: p}), l.chain...)
	return made, nil
}

// Known is false for the zero Liquid.
func (l Liquid) Known() bool { return l.strength > 0 }

// Name is the name of the liquid.
func (l Liquid) Name() string { return l.name }

// Strength is the share of the origin in the liquid; the chain's dilutions multiply.
func (l Liquid) Strength() Strength { return l.strength }

// Chain tells how the liquid was made: "print developer: 1+9 of stock A; stock A:
// 1+3 of lot 7".
func (l Liquid) Chain() phrase.Sentence {
	words := make([]phrase.Sentence, len(l.chain))
	for i, k := range l.chain {
		words[i] = phrase.Say("%s: %s of %s", k.name, k.parts, k.parent)
	}
	if len(words) == 0 {
		return phrase.Say("%s: undiluted", l.name)
	}
	return phrase.Join("; ", words...)
}
