// Package locale writes numbers and quantities as the people of a place read them: in
// their units and with their decimal sign, in sentences too that were made in the
// inside units and with a point.
package locale

import (
	"cmp"
	"math"
	"regexp"
	"strconv"
	"strings"

	"wetside/sensors/quantity"
	"wetside/sensors/quantity/phrase"
)

// Units are the units in which the people of a place want to read.
type Units struct {
	Temperature, Flow, Pressure, Velocity, Volume quantity.Unit
	// DecimalComma says that people here write 18,5 and not 18.5.
	DecimalComma bool
}

// Of gives the place's unit of a dimension: the inside unit where it has none.
func (u Units) Of(d quantity.Dimension) quantity.Unit {
	for _, unit := range []quantity.Unit{u.Temperature, u.Flow, u.Pressure, u.Velocity, u.Volume} {
		if unit.Dimension() == d {
			return unit
		}
	}
	base, _ := quantity.BaseUnit(d)
	return base
}

// Number writes a number with the sign of the place; zero is written without a sign.
func (u Units) Number(v float64, places int) string { return u.Sign(number(v, places)) }

// Plain writes a number with the digits that it has.
func (u Units) Plain(v float64) string { return u.Sign(strconv.FormatFloat(v, 'f', -1, 64)) }

// Sign puts the place's decimal sign into a number written with a point.
func (u Units) Sign(number string) string {
	if u.DecimalComma {
		return strings.Replace(number, ".", ",", 1)
	}
	return number
}

// Bytes writes a number of bytes with a unit of 1000.
func (u Units) Bytes(n uint64) string {
	units := []string{"B", "kB", "MB", "GB", "TB"}
	v, at := float64(n), 0
	for v >= 999.5 && at < len(units)-1 {
		v, at = v/1000, at+1
	}
	places := 0
	if at > 0 && v < 9.95 {
		places = 1
	}
	return u.Number(v, places) + " " + units[at]
}

func number(v float64, places int) string {
	s := strconv.FormatFloat(v, 'f', places, 64)
	if strings.HasPrefix(s, "-") && strings.Trim(s, "-0.") == "" {
		return s[1:]
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

// Symbol writes a unit as people read it.
func Symbol(u quantity.Unit) string {
	switch u.Symbol() {
	case "C", "F":
		return "°" + u.Symbol()
	case "floz":
		return "US fl oz"
	case "gal":
		return "US gal"
	case "impfloz":
		return "imp fl oz"
	case "impgal":
		return "imp gal"
	case "inwg":
		return "in. w.g."
	}
	return strings.NewReplacer("m3", "m³", "m2", "m²", "ft3", "ft³", "ft2", "ft²", "ug", "µg").Replace(u.Symbol())
}

// numeral is a number, and behind it what it was before it was rounded.
const numeral = `([-+]?\d+(?:\.\d+)?)(?:` + phrase.ExactFrom + `([^` + phrase.ExactTo + `]*)` + phrase.ExactTo + `)?`

// quantityTold finds a quantity in a sentence: one number or a pair, its unit, and before
// it the word that makes it a difference. What is quoted was typed by somebody and stays as it is.
var quantityTold = regexp.MustCompile(`"[^"]*"|(by )?` + numeral + `( (?:to|and) )?(?:` + numeral + `)? (%|m³/h|(?:kg/m|m|L/s·m|g/m)[³²]|(?:°C|m/s|Pa|mL|L/s|L|mg/L|g/L|g|kg|mm|cm|m3|m2|K|kelvin|h|hours|min|minutes|s|days|ppm|kB|MB|GB|TB|sheets|air changes)\b)`)

// Sentence gives a sentence with the quantities in it as the place reads them.
func (u Units) Sentence(sentence string) string {
	anew := quantityTold.ReplaceAllStringFunc(sentence, func(match string) string {
		m := quantityTold.FindStringSubmatch(match)
		before, low, between, high, sign := m[1], told{m[2], m[3]}, m[4], told{m[5], m[6]}, m[7]
		symbol, convert := u.toldIn(sign, before != "" || strings.HasPrefix(low.text, "+"))
		if low.text == "" || (between == "") != (high.text == "") { // quoted; two numbers side by side, or a word alone: no pair of one unit
			return match
		}
		out := before + u.retold(low, sign, convert)
		if high.text != "" {
			out += between + u.retold(high, sign, convert)
		}
		return out + " " + symbol
	})
	return toldTwice.ReplaceAllString(anew, "$1")
}

// toldTwice is a published temperature in both scales, such as "15.6 °C (60 °F)", where the place reads the second.
var toldTwice = regexp.MustCompile(`[-\d.,]+ °F \((\d+ °F)\)`)

// volumeGrain in mL is the smallest difference of a poured volume worth showing: of more than
// a cup no graduate tells a single millilitre.
const volumeGrain = 3

// bare is a number alone, such as in a cell whose unit stands at the head of its column.
var bare = regexp.MustCompile(`^[-+]?\d+\.\d+$`)

// Cell gives the text of a cell of a table as the place reads it.
func (u Units) Cell(text string) string {
	if bare.MatchString(text) {
		return u.Sign(text)
	}
	return u.Sentence(text)
}

// toldIn gives the place's unit for an inside one, and the way to it; a difference is only scaled.
func (u Units) toldIn(sign string, difference bool) (symbol string, convert func(float64) float64) {
	d, known := map[string]quantity.Dimension{"°C": quantity.Temperature, "m³/h": quantity.VolumeFlow, "m/s": quantity.Velocity, "Pa": quantity.Pressure, "mL": quantity.LiquidVolume, "L": quantity.LiquidVolume}[sign]
	unit := u.Of(d)
	switch {
	case !known, sign == "L" && strings.HasSuffix(unit.Symbol(), "L"): // litres beside millilitres are both metric
		return sign, nil
	case sign == "L":
		return Symbol(unit), func(v float64) float64 { return unit.FromBase(1000 * v) }
	}
	if difference {
		return Symbol(unit), func(v float64) float64 { return unit.FromBase(v) - unit.FromBase(0) }
	}
	return Symbol(unit), unit.FromBase
}

// told is a number in a sentence, and what it was before it was rounded.
type told struct{ text, exact string }

// retold writes a number anew, with as many decimals as show the step that it was told in.
func (u Units) retold(n told, sign string, convert func(float64) float64) string {
	v, err := strconv.ParseFloat(cmp.Or(n.exact, n.text), 64)
	if err != nil || convert == nil {
		return u.Sign(n.text)
	}
	_, fraction, _ := strings.Cut(n.text, ".")
	step := 1.0
	for range fraction {
		step /= 10
	}
	if sign == "mL" && v >= 100 {
		step = volumeGrain
	}
	places := len(fraction)
	if scale := convert(1) - convert(0); scale != 1 {
		places = Decimals(step * scale)
	}
	plus := ""
	if strings.HasPrefix(n.text, "+") && v >= 0 {
		plus = "+"
	}
	return plus + u.Number(convert(v), places)
}
