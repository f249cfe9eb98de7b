package dashboard

import (
	"errors"
	"regexp"
	"strconv"
	"strings"
	"unicode/utf8"

	"wetside/chem/ledger"
	"wetside/sensors/quantity"
)

// quantityTold is a quantity within a sentence: "18.5 °C", "by 0.4 °C", or a pair of numbers with one
// unit. What is quoted was typed by somebody and stays as it is.
var quantityTold = regexp.MustCompile(`"[^"]*"|(by )?([-+]?\d+(?:\.\d+)?)( (?:to|and) )?([-+]?\d+(?:\.\d+)?)? (%|(?:°C|m³/h|m/s|Pa|mL|L/s|L|K|h|min|days|ppm|air changes)\b)`)

// local gives a sentence of the rules as the place reads it: they tell quantities in the
// inside units and with a point, whatever the place has set. A number without a unit, such
// as that of a standard, stays as it is.
func (f figures) local(sentence string) string {
	told := quantityTold.ReplaceAllStringFunc(sentence, func(match string) string {
		m := quantityTold.FindStringSubmatch(match)
		before, low, between, high, sign := m[1], m[2], m[3], m[4], m[5]
		u, convert := f.toldIn(sign, before != "" || strings.HasPrefix(low, "+"))
		if low == "" || (between == "") != (high == "") { // quoted; two numbers side by side, or a word alone: no pair of one unit
			return match
		}
		out := before + f.retold(low, sign, convert)
		if high != "" {
			out += between + f.retold(high, sign, convert)
		}
		return out + " " + u
	})
	return toldTwice.ReplaceAllString(told, "$1")
}

// toldTwice is a published temperature in both scales, such as "15.6 °C (60 °F)", where the place reads the second.
var toldTwice = regexp.MustCompile(`[-\d.,]+ °F \((\d+ °F)\)`)

// sentenceOf is what a person reads of an error: the ledger's own two sentences, or a sentence
// made of it.
func (f figures) sentenceOf(err error) string {
	if problem := (ledger.Problem{}); errors.As(err, &problem) {
		return ledger.TellProblem(err, f.local)
	}
	text := f.local(err.Error())
	first, size := utf8.DecodeRuneInString(text)
	text = strings.ToUpper(string(first)) + text[size:]
	return strings.TrimSuffix(text, ".") + "."
}

// lines are sentences of the ledger, each on a line of its own.
func (f figures) lines(told []ledger.Told) string {
	var b strings.Builder
	for _, t := range told {
		b.WriteString(t.By(f.local) + "\n")
	}
	return strings.TrimSuffix(b.String(), "\n")
}

// locals is [figures.local] of each sentence of a list.
func (f figures) locals(sentences []string) []string {
	out := make([]string, len(sentences))
	for i, s := range sentences {
		out[i] = f.local(s)
	}
	return out
}

// toldIn is the unit in which a quantity of a sentence is read here, and how a value comes
// into it. A difference of temperature has no zero point to move.
func (f figures) toldIn(sign string, difference bool) (unit string, convert func(float64) float64) {
	d, known := map[string]quantity.Dimension{"°C": quantity.Temperature, "m³/h": flowDimension, "m/s": quantity.Velocity, "Pa": quantity.Pressure, "mL": volumeDimension, "L": volumeDimension}[sign]
	u := f.unit(d)
	switch {
	case !known, sign == "L" && strings.HasSuffix(u.Symbol(), "L"): // litres beside millilitres are both metric
		return sign, func(v float64) float64 { return v }
	case sign == "L":
		return symbol(u), func(v float64) float64 { return u.FromBase(1000 * v) }
	}
	if difference {
		return symbol(u), func(v float64) float64 { return u.FromBase(v) - u.FromBase(0) }
	}
	return symbol(u), u.FromBase
}

// retold writes a number anew, as finely as it was told. Of more than a cup no graduate tells
// a single millilitre.
func (f figures) retold(text, sign string, convert func(float64) float64) string {
	v, err := strconv.ParseFloat(text, 64)
	if err != nil {
		return text
	}
	_, fraction, _ := strings.Cut(text, ".")
	step := 1.0
	for range fraction {
		step /= 10
	}
	if sign == "mL" && v >= 100 {
		step = volumeGrain
	}
	places := len(fraction)
	if scale := convert(1) - convert(0); scale != 1 {
		places = decimals(step * scale)
	}
	plus := ""
	if strings.HasPrefix(text, "+") && v >= 0 {
		plus = "+"
	}
	return plus + f.number(convert(v), places)
}
