package breathing

import (
	"math"
	"time"

	"wetside/sensors/quantity/phrase"
)

// Tape is a stretch of elapsed time, span after span, on which a concentration
// is known or not. All values are in one unit, ppm or mg/m³, kept by the caller.
type Tape struct {
	spans  []span
	length time.Duration // of all of them
}

type span struct {
	length    time.Duration
	low, high float64
	kind      levelKind       // nothing: not known
	why       phrase.Sentence // why nothing is known
}

// Sampled adds a time with a known level.
func (t *Tape) Sampled(length time.Duration, l Level) error {
	if err := l.check(); err != nil {
		return err
	}
	return t.add(span{length: length, low: l.low, high: l.high, kind: l.kind})
}

// Unsampled adds a time of which nothing is known, and why.
func (t *Tape) Unsampled(length time.Duration, why phrase.Sentence) error {
	return t.add(span{length: length, why: why})
}

// Unexposed adds a time spent where the agent is not: it counts as zero, and
// only because somebody vouches for it.
func (t *Tape) Unexposed(length time.Duration, by string) error {
	if by == "" {
		return phrase.Errorf("time without breathing exposure counts as zero only when somebody vouches for it: give a name")
	}
	return t.add(span{length: length, kind: unexposed})
}

func (t *Tape) add(s span) error {
	if s.length <= 0 {
		return phrase.Errorf("a time of %s is not usable: expected more than zero", s.length)
	}
	if s.length > longestGap || t.length > longestGap {
		return phrase.Errorf("a time of %s is too long to count: expected at most a year in all", s.length)
	}
	t.spans, t.length = append(t.spans, s), t.length+s.length
	return nil
}

// Length is the elapsed time of the whole tape.
func (t Tape) Length() time.Duration { return t.length }

// longestGap caps a gap on the tape; a year without readings is as unknown as two.
const longestGap = 365 * 24 * time.Hour

// Level is what one gas reading says. The zero Level says nothing and is refused.
type Level struct {
	low, high float64
	kind      levelKind
}

type levelKind uint8

const (
	nothing levelKind = iota
	measured
	belowDetection
	overRange
	unexposed // zero by a statement: nobody was where the agent is
)

var errNoLevel = phrase.Errorf("a gas reading without a usable value: expected zero or more")

// Measured is a reading with a value, zero or more.
func Measured(v float64) Level { return Level{v, v, measured} }

// BelowDetection is a reading under the detection limit: somewhere from zero to
// the limit, never zero.
func BelowDetection(limit float64) Level { return Level{0, limit, belowDetection} }

// OverRange is a reading at the end of the sensor's range: at least that much.
func OverRange(fullScale float64) Level { return Level{fullScale, fullScale, overRange} }

func (l Level) check() error {
	if l.kind == nothing || !(l.low >= 0 && l.high >= l.low && l.high <= math.MaxFloat64) {
		return errNoLevel
	}
	if l.kind == belowDetection && l.high == 0 {
		return phrase.Errorf("a reading below a detection limit of zero: expected a limit above zero")
	}
	return nil
}

// Value is what was measured; ok is false for a reading that is only a bound.
func (l Level) Value() (v float64, ok bool) { return l.low, l.kind == measured }

// AtMost gives the bound of a reading under the detection limit; ok is false for any other.
func (l Level) AtMost() (v float64, ok bool) { return l.high, l.kind == belowDetection }

// AtLeast gives the bound of a reading at the end of the sensor's range; ok is false for any other.
func (l Level) AtLeast() (v float64, ok bool) { return l.low, l.kind == overRange }

// Text gives the level as it is shown, in the given unit: "below 0.1 ppm".
func (l Level) Text(unit string) phrase.Sentence {
	switch l.kind {
	case measured:
		return phrase.Say("%s %s", figure(l.low), unit)
	case belowDetection:
		return phrase.Say("below %s %s", figure(l.high), unit)
	case overRange:
		return phrase.Say("at least %s %s", figure(l.low), unit)
	default:
		return phrase.Say("no data")
	}
}

// Sensor is what a gas sensor can tell, in the unit of its channel.
type Sensor struct {
	Resolution float64 // smallest step; zero: not known
	Detection  float64 // detection limit; zero: not known
	FullScale  float64 // end of the range; zero: not known
}

// stepsPerLimit is how many steps a limit must have for a sensor to support a
// decision (choice of this program; steps of 0.1 ppm can't support 0.25 ppm).
const stepsPerLimit = 5

// Supports says why a sensor can't support a decision at a limit, in the same unit; an empty answer means
// that it can. A range that ends below the limit does where all the time was read: it then never came to its end.
func (s Sensor) Supports(limit float64, unit string, allRead bool) phrase.Sentence {
	switch {
	case s.Resolution*stepsPerLimit > limit*(1+1e-9):
		return phrase.Say("The sensor's steps of %s %s are too coarse for a limit of %s %s.", figure(s.Resolution), unit, figure(limit), unit)
	case s.Detection > limit:
		return phrase.Say("The sensor detects nothing below %s %s, the limit is %s %s.", figure(s.Detection), unit, figure(limit), unit)
	case s.FullScale > 0 && s.FullScale < limit && !allRead:
		return phrase.Say("The sensor's range ends at %s %s, the limit is %s %s.", figure(s.FullScale), unit, figure(limit), unit)
	}
	return phrase.Sentence{}
}

func (s Sensor) scaled(f float64) Sensor {
	return Sensor{s.Resolution * f, s.Detection * f, s.FullScale * f}
}
