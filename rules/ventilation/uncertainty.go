package ventilation

import (
	"math"

	"wetside/sensors/quantity"
	"wetside/sensors/quantity/phrase"
)

// pointsUncertainty is the expanded uncertainty (k = 2) of a mean velocity that comes from
// measuring at so many points alone. Its order is that of ISO 3966 for the traverses used
// here (from memory); the steps are choices of this program. An uneven flow, with its
// slowest point below half of the fastest, counts double (choice of this program).
func pointsUncertainty(points int, evenness quantity.Percent) quantity.Percent {
	u := quantity.Percent(5)
	switch {
	case points >= 25:
		u = 2
	case points >= 12:
		u = 3
	}
	if evenness < 50 {
		u *= 2
	}
	return u
}

// TraverseUncertainty is the expanded uncertainty (k = 2) of a flow by a traverse: that of
// its points and that of the instrument by its certificate, independent of each other and
// so added as squares (JCGM 100:2008, from memory).
func TraverseUncertainty(points int, evenness, instrument quantity.Percent) quantity.Percent {
	return quantity.Percent(math.Hypot(float64(pointsUncertainty(points, evenness)), float64(instrument)))
}

// guarded is what a measured flow must reach so that a required one is proven, although
// the flow may be less by its uncertainty: required/(1 - U).
func guarded(required quantity.CubicMetrePerHour, u quantity.Percent) quantity.CubicMetrePerHour {
	return required / quantity.CubicMetrePerHour(1-u/100)
}

// GuardRule says how a measured flow is held against a required one.
func GuardRule() phrase.Sentence {
	return phrase.Say("A required flow counts as proven only where the measured flow, less its expanded uncertainty (k = 2), still " +
		"reaches the required one: " +
		"a guard band as wide as the uncertainty (ILAC-G8:09/2019 and ISO 14253-1, from memory). " +
		"The share of the commissioned flow has no guard band: the same probe measured both.")
}

// LimitsFor derives the limits of a flow from the commissioned one, lifted to what is
// required with a guard band of the uncertainty; zero takes none. A room that was never
// commissioned, with a flow of zero, is judged by the requirement alone.
func LimitsFor(commissioned quantity.CubicMetrePerHour, uncertainty quantity.Percent, required quantity.CubicMetrePerHour) (Limits, error) {
	if commissioned <= 0 {
		return RequiredLimits(required), nil
	}
	l, err := DeriveLimits(commissioned, CommonShares())
	if err != nil || required <= 0 {
		return l, err
	}
	if !(uncertainty >= 0 && uncertainty <= mostUncertainty) {
		return Limits{}, phrase.Errorf("an uncertainty of %g %% is not usable: expected 0 to %g %%", float64(uncertainty),
			float64(mostUncertainty))
	}
	return l.require(required, uncertainty), nil
}

// mostUncertainty is that of a traverse which proves something.
const mostUncertainty quantity.Percent = 30

// require lifts the low and clear limits to a required flow and its guard band where these
// lie above them, keeping the distance between the two.
func (l Limits) require(flow quantity.CubicMetrePerHour, u quantity.Percent) Limits {
	least := guarded(flow, u)
	if least <= l.Low {
		return l
	}
	gap := l.Clear - l.Low
	l.Low, l.Clear = least, least+gap
	if u > 0 {
		l.Derivation = phrase.Say(`%s; "low" raised to %s: the required %s with a guard band of %.1f %%, the uncertainty of the traverse`,
			l.Derivation, least.To(0.1), flow.To(0.1), float64(u))
	} else {
		l.Derivation = phrase.Say(`%s; "low" raised to the required %s, without a guard band since the uncertainty of the traverse is not stated`,
			l.Derivation, flow.To(0.1))
	}
	return l
}
