package quantity

import (
	"errors"
	"fmt"
	"math"
	"strconv"
	"strings"
)

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
