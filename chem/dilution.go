package chem

import (
	"errors"
	"fmt"
	"strings"

	"wetside/sensors/quantity"
	"wetside/sensors/quantity/phrase"
)

// Parts is a dilution: so many parts of a named parent and so many of water. It
// is written "1+9". The zero Parts is no dilution.
type Parts struct {
	// Concentrate is the number of parts of the parent, more than zero.
	Concentrate float64
	// Water is the number of parts of water, zero or more.
	Water float64
}

// ColonRatioError says that a bare ratio such as "1:10" was written, for which
// two readings are in print: one part in ten (1+9), or one part to ten (1+10).
type ColonRatioError struct {
	// Text is what was written.
	Text string
	// InTotal reads the ratio as parts in the total. It is the zero Parts where
	// that makes no sense, as in "2:1".
	InTotal Parts
	// ToWater reads it as parts to parts of water.
	ToWater Parts
}

// Error asks for one of the readings.
func (e *ColonRatioError) Error() string {
	return e.sentence().String()
}

// By asks for it as a place tells it.
func (e *ColonRatioError) By(t phrase.Place) string { return e.sentence().By(t) }

func (e *ColonRatioError) sentence() phrase.Sentence {
	if e.InTotal.Concentrate > 0 {
		return phrase.Say("%q does not say what its parts are: write %s or %s", e.Text, e.InTotal, e.ToWater)
	}
	return phrase.Say("%q does not say what its parts are: write %s", e.Text, e.ToWater)
}

// Readings are the one or two dilutions that may be meant.
func (e *ColonRatioError) Readings() []Parts {
	if e.InTotal.Concentrate > 0 {
		return []Parts{e.InTotal, e.ToWater}
	}
	return []Parts{e.ToWater}
}

// For shows each reading in millilitres for a wanted total, so that it can be
// asked which is meant.
func (e *ColonRatioError) For(total quantity.Millilitre) ([]Plan, error) {
	plans := make([]Plan, 0, 2)
	for _, p := range e.Readings() {
		plan, err := p.Plan(total)
		if err != nil {
			return nil, err
		}
		plans = append(plans, plan)
	}
	return plans, nil
}

// ParseParts reads a dilution such as "1+9" or "1 + 1,5". A bare colon ratio is
// a [*ColonRatioError].
func ParseParts(text string) (Parts, error) {
	first, second, plus := strings.Cut(text, "+")
	if !plus {
		return Parts{}, withoutPlus(text)
	}
	return twoParts(text, first, second)
}

func withoutPlus(text string) error {
	first, second, colon := strings.Cut(text, ":")
	if !colon {
		return phrase.Errorf("%q is not a dilution: write parts of concentrate + parts of water, such as 1+9", text)
	}
	toWater, err := twoParts(text, first, second)
	if err != nil {
		return err
	}
	e := &ColonRatioError{Text: strings.TrimSpace(text), ToWater: toWater}
	if toWater.Water >= toWater.Concentrate {
		e.InTotal = Parts{Concentrate: toWater.Concentrate, Water: toWater.Water - toWater.Concentrate}
	}
	return e
}

func twoParts(text, first, second string) (Parts, error) {
	concentrate, errFirst := part(first)
	water, errSecond := part(second)
	if err := errors.Join(errFirst, errSecond); err != nil {
		return Parts{}, phrase.Errorf("%q is not a dilution: write parts of concentrate + parts of water, such as 1+9", text)
	}
	return NewParts(concentrate, water)
}

// part reads plain digits with a decimal sign; signs and exponents are refused.
func part(text string) (float64, error) {
	s := strings.TrimSpace(text)
	if strings.Trim(s, "0123456789.,") != "" {
		return 0, phrase.Errorf("%q is not a number of parts", text)
	}
	return quantity.Number(s)
}

// NewParts checks a dilution: some concentrate, and parts between 0.0001 and 10 000.
func NewParts(concentrate, water float64) (Parts, error) {
	const least, most = 1e-4, 1e4
	if !(concentrate >= least && concentrate <= most) {
		return Parts{}, phrase.Errorf("%g parts of concentrate: it must be between %g and %g", concentrate, least, most)
	}
	if !(water >= 0 && water <= most) {
		return Parts{}, phrase.Errorf("%g parts of water: it must be between 0 and %g", water, most)
	}
	return Parts{Concentrate: concentrate, Water: water}, nil
}

// String writes the dilution as "1+9".
func (p Parts) String() string {
	return quantity.Trimmed(p.Concentrate, 4) + "+" + quantity.Trimmed(p.Water, 4)
}

// Known is false for the zero Parts.
func (p Parts) Known() bool { return p.Concentrate > 0 }

// Strength is the share of the parent in the mix: 0.1 for 1+9.
func (p Parts) Strength() Strength { return Strength(p.Concentrate / (p.Concentrate + p.Water)) }

// Strength is a share of a parent liquid, by volume: 1 is the parent itself.
type Strength float64

// Percent writes the strength as "9.1 %".
func (s Strength) Percent() quantity.Decimal {
	return quantity.Decimal(quantity.Trimmed(float64(s)*100, 2) + " %")
}

// Plan is what to pour: water first, then the concentrate. Concentrate and Water
// add up to Total.
type Plan struct {
	Parts              Parts
	Concentrate, Water quantity.Millilitre
	Total              quantity.Millilitre
}

// Plan shares a wanted total into concentrate and water.
func (p Parts) Plan(total quantity.Millilitre) (Plan, error) {
	if err := p.check(total); err != nil {
		return Plan{}, err
	}
	concentrate := total * quantity.Millilitre(p.Concentrate/(p.Concentrate+p.Water))
	return Plan{Parts: p, Concentrate: concentrate, Water: total - concentrate, Total: total}, nil
}

// mostMixed is more than any place mixes at once; beyond it a unit was mistyped.
const mostMixed quantity.Millilitre = 1e8

func (p Parts) check(volume quantity.Millilitre) error {
	if !p.Known() {
		return phrase.Errorf("no dilution is given: write parts of concentrate + parts of water, such as 1+9")
	}
	if !(volume > 0) || volume > mostMixed {
		return phrase.Errorf("%s cannot be mixed: the volume must be more than zero, and at most %s", volume.To(0), mostMixed.Litres(1000))
	}
	return nil
}

// In writes the plan in a unit of volume: "6.4 + 57.6 = 64 floz".
func (p Plan) In(unit quantity.Unit) string {
	return fmt.Sprintf("%s + %s = %s %s", volumeIn(unit, p.Concentrate), volumeIn(unit, p.Water),
		volumeIn(unit, p.Total), unit.Symbol())
}

func volumeIn(unit quantity.Unit, v quantity.Millilitre) string {
	return quantity.Trimmed(unit.FromBase(float64(v)), 2)
}

// Sentence is the plan in words.
func (p Plan) Sentence() phrase.Sentence {
	return phrase.Say("%s: %s concentrate + %s water = %s", p.Parts, millilitres(p.Concentrate), millilitres(p.Water), millilitres(p.Total))
}

// String is the plan in words and millilitres.
func (p Plan) String() string { return p.Sentence().String() }

// millilitres writes a volume to a tenth of a millilitre.
func millilitres(v quantity.Millilitre) quantity.Figure { return v.To(0.1).Short() }

// PercentPlan says how much of a percent solution (by volume) and of water make
// a total of a weaker one: volume needed = total x wanted / stock.
func PercentPlan(stock, wanted quantity.Percent, total quantity.Millilitre) (Plan, error) {
	if !(stock > 0 && stock <= 100) {
		return Plan{}, phrase.Errorf("%g %% is not a solution to dilute: it must be more than 0 and at most 100 %%", float64(stock))
	}
	if !(wanted > 0 && wanted <= stock) {
		return Plan{}, phrase.Errorf("%g %% cannot be made by diluting %g %%: it must be more than 0 and no stronger", float64(wanted),
			float64(stock))
	}
	return Parts{Concentrate: float64(wanted), Water: float64(stock - wanted)}.Plan(total)
}
