package quantity

import (
	"errors"
	"fmt"
	"slices"
	"strings"
	"unicode"
)

// Parse reads a number with its unit, such as "254.5m3/h" or "68 F", and gives
// the value in the inside unit of the dimension together with the unit that
// was written. A missing unit, or one of another dimension, is an error that
// names the units allowed.
func Parse(d Dimension, text string) (base float64, written Unit, err error) {
	number, symbol := split(text)
	if symbol == "" {
		return 0, Unit{}, fmt.Errorf("%q has no unit: expected a %s in one of %s", text, d, unitList(UnitsOf(d)))
	}
	written, err = parseOnce(symbol)
	if err != nil && (written != (Unit{}) || d == LiquidVolume && ounce(symbol)) {
		return 0, Unit{}, fmt.Errorf("%q: %w", text, err)
	}
	if err != nil || written.dimension != d {
		return 0, Unit{}, fmt.Errorf("%q: expected a %s in one of %s", text, d, unitList(UnitsOf(d)))
	}
	value, err := Number(number)
	if err != nil {
		return 0, Unit{}, withUnit(err, text, written)
	}
	return written.ToBase(value), written, nil
}

// Bare says whether a text is a number without a unit, whether or not the number can be read.
func Bare(text string) bool {
	number, symbol := split(text)
	return number != "" && symbol == ""
}

// Ounces says whether a text is a number of bare ounces, which are a volume only where nothing is weighed.
func Ounces(text string) (number string, bare bool) {
	number, unit := split(text)
	return number, number != "" && ounce(unit)
}

// withUnit writes the unit into the two readings of an ambiguous number.
func withUnit(err error, text string, u Unit) error {
	var two *AmbiguousNumberError
	if errors.As(err, &two) {
		return &AmbiguousNumberError{Text: strings.TrimSpace(text), Unit: u.symbol, Thousands: two.Thousands, Decimal: two.Decimal}
	}
	return err
}

// parseOnce reads a unit, also one that was written twice ("mL mL"). Two units that differ are an
// error, and the first of them is given with it.
func parseOnce(symbol string) (Unit, error) {
	written, err := ParseUnit(symbol)
	words := strings.Fields(symbol)
	for i := 1; err != nil && i < len(words); i++ {
		first, errFirst := ParseUnit(strings.Join(words[:i], " "))
		second, errSecond := ParseUnit(strings.Join(words[i:], " "))
		switch {
		case errFirst != nil || errSecond != nil:
		case first == second:
			return first, nil
		default:
			return first, fmt.Errorf("two units, %s and %s: write one", first, second)
		}
	}
	return written, err
}

// split parts "64floz" into "64" and "floz", and "1 500 mL" into "1 500" and "mL". An e belongs to the
// number only when digits follow it ("1e3Pa").
func split(text string) (number, unit string) {
	s := []rune(strings.TrimSpace(text))
	end := 0
	for end < len(s) {
		c := s[end]
		next := func(i int) bool { return end+i < len(s) && unicode.IsDigit(s[end+i]) }
		exponent := (c == 'e' || c == 'E') && end > 0 && next(1)
		group := unicode.IsSpace(c) && end > 0 && unicode.IsDigit(s[end-1]) && next(1) && next(2) && next(3) && !next(4)
		if !unicode.IsDigit(c) && !strings.ContainsRune("+-.,\u2212", c) && !exponent && !group {
			break
		}
		end++
	}
	return strings.TrimSpace(string(s[:end])), strings.TrimSpace(string(s[end:]))
}

// mostLiquid is more than any vessel of a darkroom holds, 1000 L: a larger volume is a slip.
const mostLiquid = 1e6

// ParseCelsius reads a temperature in C, F or K, not below absolute zero.
func ParseCelsius(text string) (Celsius, error) {
	v, _, err := Parse(Temperature, text)
	if err == nil && Celsius(v) < AbsoluteZero {
		return 0, fmt.Errorf("%q lies below absolute zero", text)
	}
	return Celsius(v), err
}

// ParseMillilitre reads a volume of liquid in mL, L, floz, gal, impfloz or impgal, zero or more.
func ParseMillilitre(text string) (Millilitre, error) {
	v, err := Reading[Millilitre](LiquidVolume)(text)
	if err == nil && v > mostLiquid {
		return 0, fmt.Errorf("%q is more than 1000 L (264 US gal): check the number and the unit", text)
	}
	return v, err
}

// Reading gives the parser of a quantity: it reads a number with a unit of the dimension. A volume, a
// flow and a rate are zero or more.
func Reading[Q ~float64](d Dimension) func(text string) (Q, error) {
	return func(text string) (Q, error) {
		v, _, err := Parse(d, text)
		if err == nil && v < 0 && slices.Contains([]Dimension{LiquidVolume, RoomVolume, VolumeFlow, Rate}, d) {
			return 0, fmt.Errorf("%q is negative: a %s is zero or more", text, d)
		}
		return Q(v), err
	}
}
