package breathing

import (
	"math"

	"wetside/sensors/quantity/phrase"
)

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
