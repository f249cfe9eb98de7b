package quantity

import (
	"math"
	"strconv"
	"strings"
	"unicode"

	"wetside/sensors/quantity/phrase"
)

// ErrNotFinite says that a number is infinite or not a number.
var ErrNotFinite = phrase.Errorf("not a finite number")

// Number reads a decimal number. A comma is taken as the decimal sign when no
// point is present and it appears once ("6,4"), as people in many places write;
// grouping signs, hexadecimal, infinities and NaN are refused.
func Number(text string) (float64, error) {
	s := strings.TrimSpace(text)
	if strings.Count(s, ",") == 1 && !strings.Contains(s, ".") {
		s = strings.Replace(s, ",", ".", 1)
	}
	if s == "" || strings.Trim(s, "+-.0123456789eE") != "" {
		return 0, phrase.Errorf("%q is not a number: write it like 12.5", text)
	}
	v, err := strconv.ParseFloat(s, 64)
	if err != nil {
		return 0, phrase.Errorf("%q is not a number: write it like 12.5", text)
	}
	if math.IsInf(v, 0) || math.IsNaN(v) {
		return 0, phrase.Errorf("%q: %w", text, ErrNotFinite)
	}
	return v, nil
}

// Parse reads a number with its unit, such as "254.5m3/h" or "68 F", and gives
// the value in the inside unit of the dimension together with the unit that
// was written. A missing unit, or one of another dimension, is an error that
// names the units allowed.
func Parse(d Dimension, text string) (base float64, written Unit, err error) {
	number, symbol := split(text)
	if symbol == "" {
		return 0, Unit{}, phrase.Errorf("%q has no unit: expected a %s in one of %s", text, d, unitList(UnitsOf(d)))
	}
	written, err = ParseUnit(symbol)
	if err != nil || written.dimension != d {
		return 0, Unit{}, phrase.Errorf("%q: expected a %s in one of %s", text, d, unitList(UnitsOf(d)))
	}
	value, err := Number(number)
	if err != nil {
		return 0, Unit{}, err
	}
	return written.ToBase(value), written, nil
}

// split parts "64floz" into "64" and "floz". An e belongs to the number only
// when digits follow it ("1e3Pa").
func split(text string) (number, unit string) {
	s := strings.TrimSpace(text)
	end := 0
	for end < len(s) {
		c := rune(s[end])
		exponent := (c == 'e' || c == 'E') && end > 0 && end+1 < len(s) && unicode.IsDigit(rune(s[end+1]))
		if !unicode.IsDigit(c) && !strings.ContainsRune("+-.,", c) && !exponent {
			break
		}
		end++
	}
	return strings.TrimSpace(s[:end]), strings.TrimSpace(s[end:])
}

// ParseCelsius reads a temperature in C, F or K, not below absolute zero.
func ParseCelsius(text string) (Celsius, error) {
	v, _, err := Parse(Temperature, text)
	if err == nil && Celsius(v) < AbsoluteZero {
		return 0, phrase.Errorf("%q lies below absolute zero", text)
	}
	return Celsius(v), err
}

// ParseMillilitre reads a volume of liquid in mL, L, floz, gal, impfloz or impgal, zero or more.
func ParseMillilitre(text string) (Millilitre, error) {
	v, err := parseAtLeastZero(LiquidVolume, text)
	return Millilitre(v), err
}

// ParseCubicMetre reads the volume of a room in m3 or ft3, zero or more.
func ParseCubicMetre(text string) (CubicMetre, error) {
	v, err := parseAtLeastZero(RoomVolume, text)
	return CubicMetre(v), err
}

// ParseSquareMetre reads an area in m2, cm2, ft2 or in2, zero or more.
func ParseSquareMetre(text string) (SquareMetre, error) {
	v, err := parseAtLeastZero(Area, text)
	return SquareMetre(v), err
}

// ParseMetre reads a length or an altitude in m, cm, mm, ft or in; an altitude may be negative.
func ParseMetre(text string) (Metre, error) {
	v, _, err := Parse(Length, text)
	return Metre(v), err
}

// ParsePascal reads a pressure in Pa, hPa, kPa, mbar, bar or inwg.
func ParsePascal(text string) (Pascal, error) {
	v, _, err := Parse(Pressure, text)
	return Pascal(v), err
}

// ParseMetrePerSecond reads an air velocity in m/s, km/h or fpm.
func ParseMetrePerSecond(text string) (MetrePerSecond, error) {
	v, _, err := Parse(Velocity, text)
	return MetrePerSecond(v), err
}

// ParseCubicMetrePerHour reads a volume flow in m3/h, m3/s, L/s or cfm, zero or more.
func ParseCubicMetrePerHour(text string) (CubicMetrePerHour, error) {
	v, err := parseAtLeastZero(VolumeFlow, text)
	return CubicMetrePerHour(v), err
}

// ParsePartsPerMillion reads a volume fraction in ppm or ppb, zero or more.
func ParsePartsPerMillion(text string) (PartsPerMillion, error) {
	v, err := parseAtLeastZero(VolumeFraction, text)
	return PartsPerMillion(v), err
}

// ParsePerHour reads a rate such as "6/h", zero or more.
func ParsePerHour(text string) (PerHour, error) {
	v, err := parseAtLeastZero(Rate, text)
	return PerHour(v), err
}

// ParsePercent reads a percentage such as "99%".
func ParsePercent(text string) (Percent, error) {
	v, _, err := Parse(Ratio, text)
	return Percent(v), err
}

func parseAtLeastZero(d Dimension, text string) (float64, error) {
	v, _, err := Parse(d, text)
	if err == nil && v < 0 {
		return 0, phrase.Errorf("%q is negative: a %s is zero or more", text, d)
	}
	return v, err
}
