package chem

import (
	"fmt"
	"math"
	"slices"
	"strings"
	"time"

	"wetside/sensors/quantity"
	"wetside/sensors/quantity/phrase"
)

// edgeTolerance in kelvin lets "75 F" meet a point that was written as 75 °F
// whatever way the arithmetic went.
const edgeTolerance = 1e-6

// edgeRounding in kelvin is half the last place of a temperature that was written to
// two decimals: 23.89 °C is still 75 °F, the last point of many a table.
const edgeRounding = 0.005

// Scale is the temperature scale in which a point was written. Published pairs
// are rounded (75 °F is 23.889 °C, often printed as 24), so it must be kept.
type Scale uint8

// The scales in print.
const (
	InCelsius Scale = iota
	InFahrenheit
)

// Point is one published pair of bath temperature and development time.
type Point struct {
	// At is the exact bath temperature.
	At quantity.Celsius
	// Time is the development time there.
	Time time.Duration
	// Written is the scale of the source.
	Written Scale
}

// String is the point as it was written: "68 °F 5:00".
func (p Point) String() string {
	return degrees(p.At, p.Written) + " " + MinutesSeconds(p.Time)
}

// degrees writes a temperature to a tenth, without a needless ".0".
func degrees(c quantity.Celsius, in Scale) string {
	value, unit := float64(c), "°C"
	if in == InFahrenheit {
		value, unit = c.Fahrenheit(), "°F"
	}
	return quantity.Trimmed(value, 1) + " " + unit
}

// toldDegrees says a temperature as degrees writes it, and keeps what it was.
func toldDegrees(c quantity.Celsius, in Scale) phrase.Sentence {
	if in == InFahrenheit {
		return phrase.Say("%s", quantity.Decimal(degrees(c, in)))
	}
	return phrase.Say("%s", c.To(0.1).Short())
}

// short is a number with at most one decimal, for a sentence.
func short(v float64) quantity.Decimal { return quantity.Decimal(quantity.Trimmed(v, 1)) }

// ParsePoint reads "20C=7:45" or "68F=5:00". A time such as "9.30" is an
// [*AmbiguousTimeError].
func ParsePoint(text string) (Point, error) {
	temperature, duration, found := strings.Cut(text, "=")
	if !found {
		return Point{}, phrase.Errorf("%q is not a table point: write temperature=time, such as 20C=7:45", text)
	}
	at, err := quantity.ParseCelsius(temperature)
	if err != nil {
		return Point{}, phrase.Errorf("table point %q: %w", text, err)
	}
	_, unit, err := quantity.Parse(quantity.Temperature, temperature)
	if err != nil {
		return Point{}, phrase.Errorf("table point %q: %w", text, err)
	}
	t, err := ParseTime(duration)
	if err != nil {
		return Point{}, phrase.Errorf("table point %q: %w", text, err)
	}
	p := Point{At: at, Time: t}
	if unit.Symbol() == "F" {
		p.Written = InFahrenheit
	}
	return p, nil
}

// Table is a published row of development times over temperature for one film or
// paper, developer and dilution. The zero Table is no table and answers nothing.
type Table struct {
	source string
	points []Point
}

// NewTable makes a table from its source (as shown to people) and one or more
// points with strictly rising temperatures and positive times.
func NewTable(source string, points []Point) (Table, error) {
	if strings.TrimSpace(source) == "" {
		return Table{}, phrase.Errorf("a time table needs its source: say where the times were published")
	}
	if len(points) == 0 {
		return Table{}, phrase.Errorf("a time table needs at least one point, such as 20C=7:45")
	}
	for i, p := range points {
		if !(p.At >= 0 && p.At <= 100) {
			return Table{}, phrase.Errorf("point %d: %s is not a bath temperature: it must be between %s and %s", i+1, toldDegrees(p.At, p.Written),
				quantity.Celsius(0).To(1).Bare(), quantity.Celsius(100).To(1))
		}
		if p.Time <= 0 || p.Time > longestTime {
			return Table{}, phrase.Errorf("point %d (%s): a time must be more than 0 and at most 24 h", i+1, toldDegrees(p.At, p.Written))
		}
		if i > 0 && p.At-points[i-1].At < 2*edgeTolerance {
			return Table{}, phrase.Errorf("the points must rise in temperature: %s comes after %s", p, points[i-1])
		}
	}
	return Table{source: source, points: slices.Clone(points)}, nil
}

// Source is where the times were published.
func (t Table) Source() string { return t.source }

// Points are the published points, coldest first.
func (t Table) Points() []Point { return slices.Clone(t.points) }

// Known is false for the zero Table.
func (t Table) Known() bool { return len(t.points) > 0 }

// At interpolates ln(time) over temperature between the published points, since
// no single coefficient fits published rows. It never extrapolates: outside the
// points the error is a [Refusal].
func (t Table) At(c quantity.Celsius) (time.Duration, error) {
	if !t.Known() {
		return 0, Refusal{phrase.Say("there is no time table for this paper or film and developer")}
	}
	if math.IsNaN(float64(c)) {
		return 0, Refusal{phrase.Say("the bath temperature is not known")}
	}
	first, last := t.points[0], t.points[len(t.points)-1]
	switch {
	case c > last.At+edgeRounding:
		return 0, t.outside(c, last.At)
	case c < first.At-edgeRounding:
		return 0, t.outside(c, first.At)
	}
	return t.inside(c), nil
}

// outside shows more decimals where a tenth would not tell the two apart.
func (t Table) outside(c, end quantity.Celsius) error {
	scale := t.scale()
	here, there := exactDegrees(c, scale, 1), exactDegrees(end, scale, 1)
	if here == there {
		here, there = exactDegrees(c, scale, 4), exactDegrees(end, scale, 4)
	}
	if c > end {
		return Refusal{phrase.Say("%s lies above the table's last point, %s", here, there)}
	}
	return Refusal{phrase.Say("%s lies below the table's first point, %s", here, there)}
}

// inside interpolates; beyond the ends it keeps the end's time.
func (t Table) inside(c quantity.Celsius) time.Duration {
	above := slices.IndexFunc(t.points, func(p Point) bool { return p.At >= c-edgeTolerance })
	if above < 0 {
		return t.points[len(t.points)-1].Time
	}
	hi := t.points[above]
	if above == 0 || math.Abs(float64(hi.At-c)) <= edgeTolerance {
		return hi.Time
	}
	lo := t.points[above-1]
	share := float64((c - lo.At) / (hi.At - lo.At))
	ln := math.Log(lo.Time.Seconds())*(1-share) + math.Log(hi.Time.Seconds())*share
	return fromSeconds(math.Exp(ln))
}

// scale is Fahrenheit when every point was written in it.
func (t Table) scale() Scale {
	if slices.ContainsFunc(t.points, func(p Point) bool { return p.Written != InFahrenheit }) {
		return InCelsius
	}
	return InFahrenheit
}

// exactDegrees always shows its decimals, and °C beside the °F of a Fahrenheit table.
func exactDegrees(c quantity.Celsius, in Scale, decimals int) string {
	if in == InFahrenheit {
		return fmt.Sprintf("%.*f °F (%.*f °C)", decimals, c.Fahrenheit(), decimals, float64(c))
	}
	return fmt.Sprintf("%.*f °C", decimals, float64(c))
}

// reference is the published point nearest to 20 °C, at which the reasons start.
func (t Table) reference() Point {
	best := t.points[0]
	for _, p := range t.points {
		if math.Abs(float64(p.At-20)) < math.Abs(float64(best.At-20)) {
			best = p
		}
	}
	return best
}

// rounding is the step to which the table's times were evidently rounded: the
// largest of the usual steps that divides them all.
func (t Table) rounding() time.Duration {
	for _, step := range []time.Duration{30, 15, 10, 5} {
		step *= time.Second
		whole := true
		for _, p := range t.points {
			whole = whole && p.Time%step == 0
		}
		if whole {
			return step
		}
	}
	return time.Second
}

// rounded is how far the logarithm of a time may be off for the rounding of the points around it, each
// within half a step.
func (t Table) rounded(c quantity.Celsius) spread {
	half := t.rounding().Seconds() / 2
	near := func(p Point, weight float64) spread { return within(half / p.Time.Seconds()).times(weight) }
	for i := 1; i < len(t.points); i++ {
		lo, hi := t.points[i-1], t.points[i]
		if c >= lo.At && c <= hi.At {
			share := float64((c - lo.At) / (hi.At - lo.At))
			return near(lo, 1-share).plus(near(hi, share))
		}
	}
	if c > t.points[0].At {
		return near(t.points[len(t.points)-1], 1)
	}
	return near(t.points[0], 1)
}

// slopeNear is the steepest |d ln t / dT| per kelvin of the segments that the
// probe's plus-or-minus touches.
func (t Table) slopeNear(b BathTemperature) float64 {
	steepest := 0.0
	for i := 1; i < len(t.points); i++ {
		lo, hi := t.points[i-1], t.points[i]
		reach := quantity.Celsius(b.accuracy + edgeTolerance)
		if b.at+reach >= lo.At && b.at-reach <= hi.At {
			steepest = max(steepest, math.Abs(segmentSlope(lo, hi)))
		}
	}
	if len(t.points) == 1 {
		return generalCoefficient
	}
	return steepest
}

// segmentSlope is d ln t / dT per kelvin between two points.
func segmentSlope(lo, hi Point) float64 {
	return math.Log(hi.Time.Seconds()/lo.Time.Seconds()) / float64(hi.At-lo.At)
}

// Published rows have fitted coefficients from 0.035 to 0.118 per kelvin; below
// this one a row is odd enough to be checked against its source.
const (
	flattest = 0.040
	steepest = 0.125
	// offTheLine is how far a point may lie from the fitted line, in ln(time).
	offTheLine = 0.08
)

// fit is the least-squares line of ln(seconds) over °C above 20.
func (t Table) fit() (slope, offset float64) {
	var l line
	for _, p := range t.points {
		l.add(float64(p.At)-20, math.Log(p.Time.Seconds()))
	}
	slope, offset, _ = l.fit()
	return slope, offset
}

// Doubts are reasons to check a table against its source before it is relied on:
// a slope outside what is published elsewhere, a time that grows with warmth, or
// a point far from the others. They are sentences, for the person who types.
func (t Table) Doubts() []phrase.Sentence {
	if len(t.points) < 2 {
		return nil
	}
	var doubts []phrase.Sentence
	slope, offset := t.fit()
	if k := -slope; k < flattest || k > steepest {
		doubts = append(doubts, phrase.Say("the times change by %.1f %% per °C; published tables have %.0f to %.1f %%: check for a misprint",
			k*100, flattest*100, steepest*100))
	}
	for i, p := range t.points {
		if i > 0 && p.Time > t.points[i-1].Time {
			doubts = append(doubts, phrase.Say("%s is longer than %s although it is warmer", p, t.points[i-1]))
		}
		if off := math.Log(p.Time.Seconds()) - offset - slope*(float64(p.At)-20); math.Abs(off) > offTheLine {
			doubts = append(doubts, phrase.Say("%s lies %.0f %% off the line through the others", p, (math.Exp(off)-1)*100))
		}
	}
	return doubts
}
