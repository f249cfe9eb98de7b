package quantity

import (
	"math"
	"strconv"
	"strings"
)

// Figure is a quantity as a sentence tells it. It keeps its dimension and its value, so that
// the place where the sentence is read writes it in the units of the place and rounds it once.
type Figure struct {
	dimension  Dimension
	base, step float64 // in the inside unit: the value, and the smallest step that the digits show
	form       form
	bare       bool
}

// form is how a figure is written.
type form uint8

const (
	value  form = iota
	change      // a difference, with its sign
	gap         // a difference of which the size alone matters
	litres      // a volume that is told in litres
)

// Of is a figure of a dimension: its value in the inside unit, and the step that the digits show.
// A step of zero gives all digits that the value has.
func (d Dimension) Of(base, step float64) Figure {
	if step == 0 {
		step = stepOf(strconv.FormatFloat(base, 'f', -1, 64))
	}
	return Figure{dimension: d, base: base, step: step}
}

// To is a temperature as a sentence tells it, with the digits that show a step in °C.
func (c Celsius) To(step float64) Figure { return Temperature.Of(float64(c), step) }

// To is a pressure as a sentence tells it.
func (p Pascal) To(step float64) Figure { return Pressure.Of(float64(p), step) }

// To is a velocity as a sentence tells it.
func (v MetrePerSecond) To(step float64) Figure { return Velocity.Of(float64(v), step) }

// To is a flow as a sentence tells it.
func (q CubicMetrePerHour) To(step float64) Figure { return VolumeFlow.Of(float64(q), step) }

// To is the volume of a room as a sentence tells it.
func (v CubicMetre) To(step float64) Figure { return RoomVolume.Of(float64(v), step) }

// To is a volume as a sentence tells it, in millilitres.
func (v Millilitre) To(step float64) Figure { return LiquidVolume.Of(float64(v), step) }

// Litres is a volume as a sentence tells it, in litres: the step is in millilitres.
func (v Millilitre) Litres(step float64) Figure {
	return Figure{dimension: LiquidVolume, base: float64(v), step: step, form: litres}
}

// Change is a difference of two temperatures, with its sign.
func (f Figure) Change() Figure { f.form = change; return f }

// Gap is a difference of which the size alone matters, such as how far two readings lie apart.
func (f Figure) Gap() Figure { f.form = gap; return f }

// Bare leaves the unit out: of two figures side by side the second one names it.
func (f Figure) Bare() Figure { f.bare = true; return f }

// Short leaves out zeros behind the decimal point: 20 °C, not 20.0 °C.
func (f Figure) Short() Figure {
	f.step = stepOf(Trimmed(f.base, Decimals(f.step)))
	return f
}

// Dimension is what the figure measures.
func (f Figure) Dimension() Dimension { return f.dimension }

// String is the figure in English and in the inside unit.
func (f Figure) String() string {
	base, err := BaseUnit(f.dimension)
	if err != nil {
		return Trimmed(f.base, Decimals(f.step))
	}
	digits, unit := f.In(base)
	return strings.TrimSpace(digits + " " + unit)
}

// volumeGrain in mL is the smallest difference of a poured volume worth showing in another unit:
// of more than a cup no graduate tells a single millilitre.
const volumeGrain = 3

// In is the figure in a unit: its digits, with a point, and the unit as people read it.
func (f Figure) In(u Unit) (digits, unit string) {
	unit = u.Label()
	scale, shown := u.FromBase(1)-u.FromBase(0), u.FromBase(f.base)
	n, step := Decimals(f.step), f.step
	switch {
	case f.form == litres && (u.symbol == "mL" || u.symbol == "L"):
		shown, n, unit = f.base/1000, Decimals(step/1000), "L"
	case scale != 1:
		if f.dimension == LiquidVolume && f.form == value && f.base >= 100 {
			step = max(step, volumeGrain)
		}
		n = Decimals(step * scale)
	}
	if f.form == change || f.form == gap {
		shown = f.base * scale
		if f.dimension == Temperature && scale == 1 {
			unit = "K"
		}
	}
	if f.bare {
		unit = ""
	}
	return f.signed(Digits(shown, n)), unit
}

// signed puts a plus before a change that is not below zero.
func (f Figure) signed(digits string) string {
	if f.form == change && !strings.HasPrefix(digits, "-") {
		return "+" + digits
	}
	return digits
}

// stepOf is the step that the digits of a number show.
func stepOf(digits string) float64 {
	_, fraction, _ := strings.Cut(digits, ".")
	return math.Pow10(-len(fraction))
}

// Clean is a number without the noise of arithmetic: 20.4, not 20.400000000000002. Nine decimals are finer than any
// probe; a number from a million on stays as it is.
func Clean(v float64) float64 {
	if math.Abs(v) >= 1e6 {
		return v
	}
	return math.Round(v*1e9) / 1e9
}

// Trimmed writes a number with at most so many decimals and no trailing zeros.
func Trimmed(v float64, decimals int) string {
	s := Digits(v, decimals)
	if strings.Contains(s, ".") {
		s = strings.TrimRight(strings.TrimRight(s, "0"), ".")
	}
	return s
}

// Decimals says how many decimals show a step.
func Decimals(step float64) int {
	if !(step > 0) {
		return 1
	}
	return int(max(0, math.Ceil(-math.Log10(step)-0.25)))
}

// Digits writes a number with so many decimals, and zero without a sign.
func Digits(v float64, places int) string {
	s := strconv.FormatFloat(v, 'f', places, 64)
	if strings.HasPrefix(s, "-") && strings.Trim(s, "-0.") == "" {
		return s[1:]
	}
	return s
}

// Decimal is a number that was written with a point, in a way of its own: a place puts its own
// decimal sign into the number.
type Decimal string
