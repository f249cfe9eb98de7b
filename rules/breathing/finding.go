package breathing

import (
	"math"
	"strconv"
	"time"

	"wetside/sensors/quantity"
	"wetside/sensors/quantity/phrase"
)

// Verdict is how a concentration stands to a limit.
type Verdict string

// How an average stands to a limit.
const (
	Within   Verdict = "within the limit"
	Over     Verdict = "over the limit"
	CantTell Verdict = "can't tell"
)

func (v Verdict) Said() phrase.Sentence { return phrase.Plain(string(v)) }

// Gas is what is known of one agent in one place.
type Gas struct {
	Agent  Agent
	Tape   Tape
	Unit   quantity.Unit // of the tape and the sensor: ppm or mg/m3
	Sensor Sensor
	// CeilingWindow judges ceilings as an average, where an instant can't be
	// measured: 29 CFR 1910.1000(a)(1) takes 15 minutes. Zero judges every reading.
	CeilingWindow time.Duration
	// Vouched lets the time before the tape count as zero in a long-term average.
	Vouched Vouched
}

// Finding is a gas set against one limit.
type Finding struct {
	Limit    Limit
	Verdict  Verdict
	Average  Average // in the limit's unit; the worst window of the tape
	Sentence phrase.Sentence
	// Why is the part of the sentence that tells what is not known, and what counts as zero; often empty.
	Why phrase.Sentence
}

// Wide says that the range of the average says nothing of the limit.
func (f Finding) Wide() bool { return f.Verdict == CantTell && f.Average.wide() }

// Figure is the average as it is shown; of a wide one only that nothing can be told.
func (f Finding) Figure() phrase.Sentence {
	if f.Wide() {
		return f.Verdict.Said()
	}
	return f.Average.inSteps(finest(f.Limit.Value)).Text(f.Limit.Unit.Symbol())
}

// finest is the smallest step in which an average is written beside its limit: a hundredth of the limit, as a
// power of ten. What is less is written as below that step.
func finest(limit float64) float64 { return math.Pow10(int(math.Floor(math.Log10(limit))) - 2) }

// Judge sets the worst window of the tape against one limit, in the unit in
// which the limit is published.
func (g Gas) Judge(l Limit) (Finding, error) {
	if err := l.Check(); err != nil {
		return Finding{}, err
	}
	factor, err := g.factor(l.Unit)
	if err != nil {
		return Finding{}, phrase.Errorf("%s: %w", l.name(), err)
	}
	average, err := g.worst(l)
	if err != nil {
		return Finding{}, phrase.Errorf("%s: %w", l.name(), err)
	}
	average.Low, average.High = average.Low*factor, average.High*factor
	f := Finding{Limit: l, Average: average, Verdict: average.Against(l.Value)}
	unsupported := g.Sensor.scaled(factor).Supports(l.Value, l.Unit.Symbol(), !average.Open && average.Coverage >= 1-rounding)
	if !unsupported.IsZero() && f.Verdict == Within {
		f.Verdict = CantTell
	}
	f.Sentence, f.Why = g.words(f, unsupported)
	return f, nil
}

// bound is what vouches for time without readings: the end of the sensor's range, or nothing.
func (g Gas) bound() Bound {
	if g.Sensor.FullScale > 0 {
		return FullScale(g.Sensor.FullScale)
	}
	return Unbounded()
}

func (g Gas) worst(l Limit) (Average, error) {
	if l.Kind == LongTerm && g.Vouched.Holds() {
		tape, err := g.Vouched.before(g.Tape, l.Window)
		if err != nil {
			return Average{}, err
		}
		return tape.Worst(l.Window, g.bound())
	}
	if l.Kind != Ceiling {
		return g.Tape.Worst(l.Window, g.bound())
	}
	if g.CeilingWindow > 0 {
		return g.Tape.Worst(g.CeilingWindow, g.bound())
	}
	return g.Tape.Peak(g.bound())
}

// factor turns the tape's unit into the limit's, by the molar mass and the
// conventional molar volume where one is a mass and the other a volume.
func (g Gas) factor(to quantity.Unit) (float64, error) {
	from, base := g.Unit.Dimension(), g.Unit.ToBase(1)
	switch {
	case from == to.Dimension():
	case g.Agent.MolarMass <= 0:
		return 0, phrase.Errorf("no molar mass is known for %s, so %s can't be set against %s", g.Agent.Name, g.Unit, to)
	case from == quantity.VolumeFraction && to.Dimension() == quantity.MassConcentration:
		base = float64(ToMass(quantity.PartsPerMillion(base), g.Agent.MolarMass, ConventionalMolarVolume))
	case from == quantity.MassConcentration && to.Dimension() == quantity.VolumeFraction:
		base = float64(ToFraction(quantity.MilligramPerCubicMetre(base), g.Agent.MolarMass, ConventionalMolarVolume))
	default:
		return 0, phrase.Errorf("unit %q of the readings is not usable: expected ppm or mg/m3", g.Unit)
	}
	return to.FromBase(base), nil
}

// rounding is the share by which sums of floating numbers may pass a limit that
// the true sum just meets.
const rounding = 1e-9

// LeastCoverage is the share of a window that must have been read before it is said to be
// within a limit. The NIOSH Occupational Exposure Sampling Strategy Manual (1977) asks for 70
// to 80 % of the period (from memory).
const LeastCoverage = 0.75

// Against judges an average: over only if all of its interval is over the limit,
// within only if all of it is at or below and enough of it was read.
func (a Average) Against(limit float64) Verdict {
	limit *= 1 + rounding
	switch {
	case a.Low > limit:
		return Over
	case a.Open || a.Coverage < LeastCoverage || a.High > limit:
		return CantTell
	default:
		return Within
	}
}

func (g Gas) words(f Finding, unsupported phrase.Sentence) (sentence, why phrase.Sentence) {
	what := phrase.Say("highest average %s, ", f.Figure())
	switch {
	case f.Average.Coverage == 0 || f.Wide():
		what = phrase.Sentence{}
	case f.Average.Window == 0:
		what = phrase.Say("highest reading %s, ", f.Figure())
	}
	s := []phrase.Sentence{phrase.Say("%s: %s: %sread for %.0f %% of the time.", f.Limit.Text(), f.Verdict, what, 100*f.Average.Coverage)}
	var known []phrase.Sentence
	if f.Verdict == CantTell && len(f.Average.Reasons) > 0 {
		known = append(known, phrase.Say("Not known: %s.", phrase.Join("; ", f.Average.Reasons...)))
	}
	s = append(s, known...)
	if f.Verdict == CantTell && f.Average.Coverage < LeastCoverage {
		s = append(s, phrase.Say("At least %.0f %% must be read before it counts as within the limit.", 100.0*LeastCoverage))
	}
	if f.Average.Coverage > 0 && f.Average.Coverage < 1 {
		s = append(s, phrase.Say("%s.", f.Average.Bound))
	}
	var rest []phrase.Sentence
	if f.Average.Unexposed > 0 {
		rest = append(rest, phrase.Say("Of the %.0f h, %.1f h count as zero by the %s.", f.Average.Window.Hours(), f.Average.Unexposed.Hours(),
			g.Vouched.Said()))
	}
	if !unsupported.IsZero() {
		rest = append(rest, unsupported)
	}
	return phrase.Join(" ", append(s, rest...)...), phrase.Join(" ", append(known, rest...)...)
}

// figure writes a value with three digits that mean something, and never with an exponent.
func figure(v float64) quantity.Decimal {
	rounded, err := strconv.ParseFloat(strconv.FormatFloat(v, 'g', 3, 64), 64)
	if err != nil {
		rounded = v // too large to round
	}
	return quantity.Decimal(strconv.FormatFloat(rounded, 'f', -1, 64))
}

// outward rounds a range to two digits of its upper end, so that it still holds what it held.
func outward(low, high float64) (lowest, highest float64) {
	step := math.Pow10(int(math.Floor(math.Log10(high))) - 1)
	return math.Floor(low/step+rounding) * step, math.Ceil(high/step-rounding) * step
}
