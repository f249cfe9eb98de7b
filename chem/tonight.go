package chem

import (
	"math"

	"wetside/sensors/quantity"
	"wetside/sensors/quantity/phrase"
)

// The general rule, t = t20 exp(-0.081 (T-20)), stands in where a table has one
// single point. Its coefficient is from memory; published rows have slopes from
// 0.035 to 0.118 per kelvin (least squares over published film tables), so the
// rule carries that spread in its interval.
const (
	generalCoefficient = 0.081
	generalSpread      = 0.0415
)

// HydroquinoneLimit is the temperature below which the power of a developer with
// hydroquinone falls fast: 60 °F (The Wellington Photographic Handbook, p. 130).
func HydroquinoneLimit() quantity.Celsius { return quantity.FromFahrenheit(60) }

// generalLimit is the warmest bath for the general rule: film is developed up to
// 80 °F only with care (US Army course SS0509-8).
func generalLimit() quantity.Celsius { return quantity.FromFahrenheit(80) }

// BathTemperature is a measured temperature with the accuracy of the probe, or
// unknown: the zero value.
type BathTemperature struct {
	at       quantity.Celsius
	accuracy float64
	known    bool
}

// Measured is a known bath temperature. Accuracy is the plus-or-minus of the
// probe in kelvin. A value that is not a number stays unknown.
func Measured(at quantity.Celsius, accuracy float64) BathTemperature {
	if !finite(float64(at) + accuracy) {
		return BathTemperature{}
	}
	return BathTemperature{at: at, accuracy: math.Abs(accuracy), known: true}
}

// Value is the temperature; ok is false when it is unknown.
func (b BathTemperature) Value() (at quantity.Celsius, ok bool) { return b.at, b.known }

// Inputs are what tonight's time depends on. Each may be left out: what the time
// cannot do without is refused, the rest is listed by [Recommendation.Unknown].
type Inputs struct {
	// Refusal, when it is set, says why there can be no answer at all.
	Refusal phrase.Sentence
	// Table holds the published times. Without it there is no answer.
	Table Table
	// Temperature of the bath now. Unknown: no answer.
	Temperature BathTemperature
	// HydroquinoneFloor refuses below [HydroquinoneLimit]; set it for every
	// developer that contains hydroquinone, or may.
	HydroquinoneFloor bool
	// Strength of the bath. Unknown: taken as the table's.
	Strength BathStrength
	// Use of the bath by area. Unknown: taken as fresh.
	Use BathUse
	// Emergence of the image, which tells the developer's activity as it is.
	Emergence Emergence
}

// Tonight works out the development time
//
//	t = t_ref f(temperature) g(strength) h(use)
//
// or refuses. A measured emergence time is combined with it by the uncertainties
// of both in the logarithm, and overrides it where the two disagree.
func Tonight(in Inputs) Recommendation {
	c, known := in.Temperature.Value()
	switch {
	case !in.Refusal.IsZero():
		return Refused(in.Refusal)
	case !in.Table.Known():
		return Refused(phrase.Say("there is no time table for this paper or film and developer"))
	case !known:
		return Refused(phrase.Say("the bath temperature is not known"))
	case in.HydroquinoneFloor && c < HydroquinoneLimit()-edgeTolerance:
		return Refused(phrase.Say("%s is below %s (60 °F), where hydroquinone loses its power: warm the bath",
			c.To(0.1), HydroquinoneLimit().To(0.1)))
	}
	effects, unknown, err := in.effects()
	if err != nil {
		return Refused(phrase.Say("%v", err))
	}
	m := newModel(in.Table.reference(), effects)
	m.unknown = unknown
	if in.Emergence.known() {
		if err := m.correct(in); err != nil {
			return Refused(phrase.Say("%v", err))
		}
	}
	return m.recommendation()
}

// effects are the factors that are known, and the names of those that are not.
func (in Inputs) effects() (effects []effect, unknown []phrase.Sentence, err error) {
	f, err := temperatureFactor(in.Table, in.Temperature)
	if err != nil {
		return nil, nil, err
	}
	effects = append(effects, f)
	for _, other := range []struct {
		name   phrase.Sentence
		known  bool
		factor func() (effect, error)
	}{
		{phrase.Say("strength"), in.Strength.known(), func() (effect, error) { return strengthFactor(in.Strength) }},
		{phrase.Say("use"), in.Use.known(), func() (effect, error) { return useFactor(in.Use) }},
	} {
		if !other.known {
			unknown = append(unknown, other.name)
			continue
		}
		e, err := other.factor()
		if err != nil {
			return nil, nil, err
		}
		effects = append(effects, e)
	}
	return effects, unknown, nil
}

// effect is one factor of the time: its natural logarithm, how far that may be
// off, and the words for the step.
type effect struct {
	ln    float64
	off   spread
	cause phrase.Sentence
	basis phrase.Sentence
}

// temperatureFactor gives f: the time at the bath's temperature over the time at
// the table's reference point.
func temperatureFactor(t Table, b BathTemperature) (effect, error) {
	ref := t.reference()
	e := effect{cause: toldDegrees(b.at, t.scale()), basis: phrase.Say("table")}
	at, err := t.At(b.at)
	if err != nil && len(t.points) == 1 {
		return generalFactor(t, b)
	}
	if err != nil && b.at < t.points[0].At {
		return effect{}, phrase.Errorf("%w: warm the bath", err)
	} else if err != nil {
		return effect{}, phrase.Errorf("%w: cool the bath", err)
	}
	e.ln = math.Log(at.Seconds() / ref.Time.Seconds())
	e.off = within(b.accuracy * t.slopeNear(b)).plus(t.rounded(b.at))
	return e, nil
}

// generalFactor is the labelled fallback for a table of one point.
func generalFactor(t Table, b BathTemperature) (effect, error) {
	for _, at := range []quantity.Celsius{t.points[0].At, b.at} {
		if at < HydroquinoneLimit()-edgeTolerance || at > generalLimit()+edgeTolerance {
			return effect{}, Refusal{phrase.Say("the table has one single point and %s lies outside the general rule's range, %s to %s",
				at.To(0.1), HydroquinoneLimit().To(0.1).Bare(), generalLimit().To(0.1))}
		}
	}
	distance := float64(b.at - t.points[0].At)
	return effect{
		ln:    -generalCoefficient * distance,
		off:   t.rounded(t.points[0].At).plus(within(generalSpread * distance)).plus(within(b.accuracy * generalCoefficient)),
		cause: phrase.Say("%s by the general rule", toldDegrees(b.at, t.scale())),
		basis: phrase.Say("general rule (unverified)"),
	}, nil
}

// ByTemperature is by how much a developing or emergence time grows between two temperatures, by the
// flattest and the steepest of the published tables: for a developer whose own table is not at hand. The
// factor of a developer, whole time over emergence, was held to stay the same at another temperature
// (Watkins, 1901), so both times grow alike.
func ByTemperature(from, to quantity.Celsius) (least, most float64) {
	distance := float64(from - to)
	one, other := math.Exp((generalCoefficient-generalSpread)*distance), math.Exp((generalCoefficient+generalSpread)*distance)
	return min(one, other), max(one, other)
}
