package chem

import (
	"errors"
	"fmt"
	"math"
	"time"

	"wetside/sensors/quantity"
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
	if math.IsNaN(float64(at)) || math.IsInf(float64(at), 0) {
		return BathTemperature{}
	}
	return BathTemperature{at: at, accuracy: math.Abs(accuracy), known: true}
}

// Value is the temperature; ok is false when it is unknown.
func (b BathTemperature) Value() (at quantity.Celsius, ok bool) { return b.at, b.known }

// Inputs are what tonight's time depends on. Each may be left out; what is then
// missing is refused or named in the steps, never guessed.
type Inputs struct {
	// Table holds the published times. Without it there is no answer.
	Table Table
	// Temperature of the bath now. Unknown: no answer.
	Temperature BathTemperature
	// HydroquinoneFloor refuses below [HydroquinoneLimit]; set it for every
	// developer that contains hydroquinone, or may.
	HydroquinoneFloor bool
}

// Tonight works out the development time t = t_ref f(temperature), or refuses.
func Tonight(in Inputs) Recommendation {
	c, known := in.Temperature.Value()
	switch {
	case !in.Table.Known():
		return Refused("there is no time table for this paper or film and developer")
	case !known:
		return Refused("the bath temperature is not known")
	case in.HydroquinoneFloor && c < HydroquinoneLimit()-edgeTolerance:
		return Refused(fmt.Sprintf("%.1f °C is below %.1f °C (60 °F), where hydroquinone loses its power: warm the bath",
			float64(c), float64(HydroquinoneLimit())))
	}
	f, err := temperatureFactor(in.Table, in.Temperature)
	if err != nil {
		return Refused(err.Error())
	}
	return build(in, f)
}

// effect is one factor of the time: its natural logarithm, the standard
// uncertainty of that, and the words for the step.
type effect struct {
	ln, u float64
	cause string
	basis string
}

// temperatureFactor gives f: the time at the bath's temperature over the time at
// the table's reference point.
func temperatureFactor(t Table, b BathTemperature) (effect, error) {
	ref := t.reference()
	e := effect{cause: degrees(b.at, t.scale()), basis: "table"}
	at, err := t.At(b.at)
	if err != nil && len(t.points) == 1 {
		return generalFactor(t, b)
	}
	if err != nil {
		return effect{}, err
	}
	e.ln = math.Log(at.Seconds() / ref.Time.Seconds())
	e.u = rectangular(b.accuracy * t.slopeNear(b))
	return e, nil
}

// generalFactor is the labelled fallback for a table of one point.
func generalFactor(t Table, b BathTemperature) (effect, error) {
	if b.at < HydroquinoneLimit()-edgeTolerance || b.at > generalLimit()+edgeTolerance {
		return effect{}, Refusal{fmt.Sprintf("the table has one single point and %.1f °C lies outside the general rule's range, %.1f to %.1f °C",
			float64(b.at), float64(HydroquinoneLimit()), float64(generalLimit()))}
	}
	distance := float64(b.at - t.points[0].At)
	return effect{
		ln:    -generalCoefficient * distance,
		u:     math.Hypot(rectangular(generalSpread*distance), rectangular(b.accuracy*generalCoefficient)),
		cause: degrees(b.at, t.scale()) + " by the general rule",
		basis: "general rule (unverified)",
	}, nil
}

// rectangular is the standard uncertainty of a plus-or-minus limit.
func rectangular(limit float64) float64 { return math.Abs(limit) / math.Sqrt(3) }

// build applies the effects one after the other to the reference time. The steps
// are differences of whole seconds, so that they add up to the time shown.
func build(in Inputs, effects ...effect) Recommendation {
	ref := in.Table.reference()
	r := Recommendation{basis: effects[0].basis,
		steps: []Step{{Cause: MinutesSeconds(ref.Time) + " at " + degrees(ref.At, ref.Written)}}}
	ln := math.Log(ref.Time.Seconds())
	u := rectangular(in.Table.rounding().Seconds() / 2 / ref.Time.Seconds())
	shown := ref.Time.Round(time.Second)
	for _, e := range effects {
		ln += e.ln
		u = math.Hypot(u, e.u)
		now := fromSeconds(math.Exp(ln))
		r.steps = append(r.steps, Step{Cause: e.cause, Change: now.Round(time.Second) - shown})
		shown = now.Round(time.Second)
	}
	r.time = fromSeconds(math.Exp(ln))
	r.low, r.high = fromSeconds(math.Exp(ln-2*u)), fromSeconds(math.Exp(ln+2*u))
	return r
}

// IsRefusal tells a refusal, which is an answer, from a mistake in the input.
func IsRefusal(err error) bool { return errors.As(err, new(Refusal)) }
