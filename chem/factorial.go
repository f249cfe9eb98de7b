package chem

import (
	"math"
	"slices"
	"time"

	"wetside/sensors/quantity/phrase"
)

// Factor is a development factor: the whole time over the time of first
// appearance. Published factors of one agent disagree, so it belongs to a batch
// and to a person, and says where it comes from.
type Factor struct {
	// Value is more than one.
	Value float64
	// Source is shown beside it.
	Source phrase.Sentence
}

// NewFactor checks a factor from a stated source.
func NewFactor(value float64, source phrase.Sentence) (Factor, error) {
	if !(value > 1 && value <= 200) {
		return Factor{}, phrase.Errorf("%g is not a development factor: it must be more than 1 and at most 200", value)
	}
	if source.IsZero() {
		return Factor{}, phrase.Errorf("a development factor needs its source, or the person who found it")
	}
	return Factor{Value: value, Source: source}, nil
}

// Time is factor x median emergence. It needs no thermometer and no count, and
// so checks the other ways of finding the time.
func (f Factor) Time(emergence ...time.Duration) (time.Duration, error) {
	if f.Value <= 1 {
		return 0, Refusal{phrase.Say("the development factor is not known")}
	}
	if len(emergence) == 0 || slices.ContainsFunc(emergence, func(d time.Duration) bool { return d <= 0 }) {
		return 0, Refusal{phrase.Say("no time of first appearance has been taken")}
	}
	return fromSeconds(f.Value * median(emergence).Seconds()), nil
}

// Share is so many parts of an agent with its own factor.
type Share struct {
	Factor Factor
	Parts  float64
}

// Mixed is the factor of a mixture: the mean of the factors, weighted by parts
// (Cyclopedia of Photography, factors).
func Mixed(shares ...Share) (Factor, error) {
	sum, parts := 0.0, 0.0
	for _, s := range shares {
		if !(s.Parts > 0 && finite(s.Parts)) || s.Factor.Value <= 1 {
			return Factor{}, phrase.Errorf("each agent of a mixture needs its parts and its factor")
		}
		sum += s.Parts * s.Factor.Value
		parts += s.Parts
	}
	if parts == 0 {
		return Factor{}, phrase.Errorf("a mixture needs at least one agent")
	}
	return NewFactor(sum/parts, phrase.Say("weighted mean of the mixture"))
}

// Observation is one print that a person found right.
type Observation struct {
	Person           string
	Emergence, Total time.Duration
}

// enoughObservations is how many prints make a person's own factor (common practice).
const enoughObservations = 3

// FactorOf is a person's own factor from three prints or more, else the average
// over everybody. Too few in all is a [Refusal].
func FactorOf(person string, seen []Observation) (Factor, error) {
	var own, all []float64
	for _, o := range seen {
		if o.Emergence <= 0 || o.Total <= o.Emergence {
			continue
		}
		ratio := o.Total.Seconds() / o.Emergence.Seconds()
		all = append(all, ratio)
		if o.Person == person {
			own = append(own, ratio)
		}
	}
	switch {
	case len(own) >= enoughObservations:
		return averaged(own, phrase.Say("%d prints of %s", len(own), person))
	case len(all) >= enoughObservations:
		return averaged(all, phrase.Say("%d prints of everybody", len(all)))
	}
	return Factor{}, Refusal{phrase.Say("only %d usable prints: a factor needs %d", len(all), enoughObservations)}
}

// averaged takes the geometric mean, as ratios deserve.
func averaged(ratios []float64, source phrase.Sentence) (Factor, error) {
	sum := 0.0
	for _, r := range ratios {
		sum += math.Log(r)
	}
	return NewFactor(math.Exp(sum/float64(len(ratios))), source)
}
