package breathing

import (
	"math"

	"wetside/sensors/quantity"
	"wetside/sensors/quantity/phrase"
)

// Part is one agent of a mixture: its concentration, exact or as an interval,
// and its limit in the same unit.
type Part struct {
	Low, High float64
	Limit     float64
}

// Index is the additive index of a mixture: at most 1 is within.
type Index struct {
	Low, High float64
}

// Mixture gives the sum of concentration over limit, 29 CFR 1910.1000(d)(2)(i),
// for agents that act alike, such as irritants of the airways.
func Mixture(parts []Part) (Index, error) {
	if len(parts) == 0 {
		return Index{}, phrase.Errorf("a mixture needs at least one part")
	}
	var sum Index
	for i, p := range parts {
		if !(p.Limit > 0 && p.Limit <= math.MaxFloat64) {
			return Index{}, phrase.Errorf("part %d: a limit of %g is not usable: expected more than zero", i+1, p.Limit)
		}
		if !(p.Low >= 0 && p.High >= p.Low && p.High <= math.MaxFloat64) {
			return Index{}, phrase.Errorf("part %d: a concentration of %g to %g is not usable: expected zero or more", i+1, p.Low, p.High)
		}
		sum.Low += p.Low / p.Limit
		sum.High += p.High / p.Limit
	}
	return sum, nil
}

// Verdict judges the index against 1.
func (x Index) Verdict() Verdict {
	switch {
	case x.Low > 1+rounding:
		return Over
	case x.High > 1+rounding:
		return CantTell
	default:
		return Within
	}
}

// LitrePerMole is the volume that a mole of gas takes up.
type LitrePerMole float64

// ConventionalMolarVolume is the rounded 24.45 L/mol at 25 °C and 1 atm by which
// published limits are converted; the exact value is 24.465.
const ConventionalMolarVolume LitrePerMole = 24.45

// MolarVolume gives R·T/p, textbook formula.
func MolarVolume(temp quantity.Celsius, pressure quantity.Pascal) (LitrePerMole, error) {
	if !(temp.Kelvin() > 0 && pressure > 0 && temp.Kelvin()/float64(pressure) <= math.MaxFloat64) {
		return 0, phrase.Errorf("no molar volume at %s and %s: expected a temperature above absolute zero and a pressure above zero", temp.To(0),
			pressure.To(0))
	}
	return LitrePerMole(8.314463 * temp.Kelvin() / float64(pressure) * 1000), nil
}

// ToMass turns a volume fraction into a mass concentration, ppm·MW/Vm.
func ToMass(c quantity.PartsPerMillion, m quantity.GramPerMole, v LitrePerMole) quantity.MilligramPerCubicMetre {
	return quantity.MilligramPerCubicMetre(float64(c) * float64(m) / float64(v))
}

// ToFraction turns a mass concentration into a volume fraction, (mg/m³)·Vm/MW.
func ToFraction(c quantity.MilligramPerCubicMetre, m quantity.GramPerMole, v LitrePerMole) quantity.PartsPerMillion {
	return quantity.PartsPerMillion(float64(c) * float64(v) / float64(m))
}
