package quantity

import (
	"errors"
	"fmt"
	"math"
	"slices"
	"strconv"
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

// errNotFinite says that a number is infinite or not a number.
var errNotFinite = fmt.Errorf("not a finite number")

// AmbiguousNumberError is a number with three digits behind its one comma, which
// some people write for thousands and some for decimals.
type AmbiguousNumberError struct {
	Text, Unit         string
	Thousands, Decimal float64
}

// Error asks which of the two was meant.
func (e *AmbiguousNumberError) Error() string {
	reading := func(v float64) string {
		return strings.TrimSpace(strconv.FormatFloat(v, 'f', -1, 64) + " " + e.Unit)
	}
	return fmt.Sprintf("%q: %s or %s? Write the one you mean without the comma", e.Text, reading(e.Thousands), reading(e.Decimal))
}

// Number reads a decimal number as people type it: with a point or one comma for
// the decimals, and with commas, points or blanks between whole groups of three
// digits where that can be read in one way only ("1,500.5", "1 500"). Three digits
// behind a single comma are an [AmbiguousNumberError]; hexadecimal, infinities and
// NaN are refused.
func Number(text string) (float64, error) {
	s := strings.NewReplacer("\u00a0", " ", "\u2009", " ", "\u202f", " ", "\u2212", "-").Replace(text)
	digits := strings.TrimLeft(strings.TrimSpace(s), "+-")
	sign := strings.TrimSuffix(strings.TrimSpace(s), digits)
	plain, thousands := ungrouped(digits)
	if plain == "" || len(sign) > 1 || strings.Trim(plain, "+-.0123456789eE") != "" {
		return 0, fmt.Errorf("%q is not a number: write it like 12.5", text)
	}
	v, err := strconv.ParseFloat(sign+plain, 64)
	if err != nil && !errors.Is(err, strconv.ErrRange) {
		return 0, fmt.Errorf("%q is not a number: write it like 12.5", text)
	}
	if math.IsInf(v, 0) || math.IsNaN(v) {
		return 0, fmt.Errorf("%q: %w", text, errNotFinite)
	}
	if thousands {
		return 0, &AmbiguousNumberError{Text: strings.TrimSpace(text), Thousands: 1000 * v, Decimal: v}
	}
	return v, nil
}

// ungrouped gives a number with a point and without signs between groups; ambiguous is true when
// the one comma in it may as well stand between groups.
func ungrouped(s string) (plain string, ambiguous bool) {
	if blank := strings.Fields(s); len(blank) > 1 && groups(append(blank[:len(blank)-1:len(blank)-1], beforeDecimals(blank[len(blank)-1]))) {
		s = strings.Join(blank, "")
		return strings.Replace(s, ",", ".", 1), false
	}
	commas, points := strings.Split(s, ","), strings.Split(s, ".")
	switch {
	case strings.LastIndex(s, ",") > strings.LastIndex(s, ".") && len(points) > 1 && len(commas) == 2 && groups(strings.Split(commas[0], ".")):
		return strings.ReplaceAll(commas[0], ".", "") + "." + commas[1], false
	case strings.LastIndex(s, ".") > strings.LastIndex(s, ",") && len(commas) > 1 && len(points) == 2 && groups(strings.Split(points[0], ",")):
		return strings.ReplaceAll(points[0], ",", "") + "." + points[1], false
	case len(commas) > 2 && len(points) == 1 && groups(commas):
		return strings.Join(commas, ""), false
	case len(points) > 2 && len(commas) == 1 && groups(points):
		return strings.Join(points, ""), false
	case len(commas) == 2 && len(points) == 1:
		return commas[0] + "." + commas[1], groups(commas)
	}
	return s, false
}

// beforeDecimals is the last group of a number without its decimals.
func beforeDecimals(s string) string {
	if at := strings.IndexAny(s, ".,"); at >= 0 {
		return s[:at]
	}
	return s
}

// groups says whether these are whole groups of three digits, the first one shorter perhaps and without a leading zero.
func groups(parts []string) bool {
	for i, p := range parts {
		if strings.Trim(p, "0123456789") != "" || len(p) > 3 || i > 0 && len(p) != 3 || i == 0 && (p == "" || p[0] == '0') {
			return false
		}
	}
	return true
}
