package breathing

import (
	"errors"
	"fmt"
	"math"
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
)

var errNoLevel = errors.New("a gas reading without a usable value: expected zero or more")

// Measured is a reading with a value, zero or more.
func Measured(v float64) Level { return Level{v, v, measured} }

// BelowDetection is a reading under the detection limit: somewhere from zero to
// the limit, never zero.
func BelowDetection(limit float64) Level { return Level{0, limit, belowDetection} }

// OverRange is a reading at the end of the sensor's range: at least that much.
func OverRange(fullScale float64) Level { return Level{fullScale, fullScale, overRange} }

func (l Level) check() error {
	if l.kind == nothing || !(l.low >= 0 && l.high >= l.low) || math.IsInf(l.high, 0) {
		return errNoLevel
	}
	if l.kind == belowDetection && l.high == 0 {
		return errors.New("a reading below a detection limit of zero: expected a limit above zero")
	}
	return nil
}

// Text gives the level as it is shown, in the given unit: "below 0.1 ppm".
func (l Level) Text(unit string) string {
	switch l.kind {
	case measured:
		return fmt.Sprintf("%s %s", figure(l.low), unit)
	case belowDetection:
		return fmt.Sprintf("below %s %s", figure(l.high), unit)
	case overRange:
		return fmt.Sprintf("at least %s %s", figure(l.low), unit)
	default:
		return "no data"
	}
}
