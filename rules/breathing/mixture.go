package breathing

import (
	"math"

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
