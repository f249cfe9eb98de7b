package ledger

import (
	"fmt"
	"time"

	"wetside/chem"
	"wetside/sensors/quantity"
	"wetside/sensors/quantity/phrase"
)

// Standing says how far a figure can be trusted.
type Standing = chem.Standing

// The standings. A figure that is unverified never condemns a bath on its own.
const (
	Verified       = chem.Verified
	Secondary      = chem.Secondary
	CommonPractice = chem.CommonPractice
	Unverified     = chem.Unverified
)

// Figure is a number with where it comes from.
type Figure struct {
	Value    float64  `toml:"value"`
	Unit     string   `toml:"unit"`
	Source   string   `toml:"source"`
	Standing Standing `toml:"standing"`
}

const litresPerGallon = 3.785411784 // exact by definition, US gallon

// longestLife keeps a life in hours within what a time.Duration can hold.
const longestLife = 1e6

// measure is what one unit of a figure is: hours of a life, or sheets 8x10 a litre of a capacity.
type measure struct{ hours, sheets float64 }

// read gives the unit and the figure in words; a unit that there is not measures nothing.
func (f Figure) read() (measure, phrase.Sentence) {
	switch f.Unit {
	case "hours":
		return measure{hours: 1}, phrase.Say("%g hours", f.Value)
	case "days":
		return measure{hours: 24}, phrase.Say("%g days", f.Value)
	case "weeks":
		return measure{hours: 7 * 24}, phrase.Say("%g weeks", f.Value)
	case "months": // of 30 days here
		return measure{hours: 30 * 24}, phrase.Say("%g months", f.Value)
	case "sheets 8x10 per litre":
		return measure{sheets: 1}, phrase.Say("%g sheets 8x10 per litre", f.Value)
	case "sheets 8x10 per US gallon":
		return measure{sheets: 1 / litresPerGallon}, phrase.Say("%g sheets 8x10 per US gallon", f.Value)
	case "rolls per litre": // a sheet 8 x 10 in and a roll are both 80 square inches
		return measure{sheets: 1}, phrase.Say("%g rolls per litre", f.Value)
	case "rolls per US gallon":
		return measure{sheets: 1 / litresPerGallon}, phrase.Say("%g rolls per US gallon", f.Value)
	}
	return measure{}, phrase.Say("%g %s", f.Value, f.Unit)
}

// Duration reads a figure in hours, days, weeks or months.
func (f Figure) Duration() (time.Duration, bool) {
	unit, _ := f.read()
	hours := f.Value * unit.hours
	if unit.hours == 0 || !(hours >= 0 && hours <= longestLife) {
		return 0, false
	}
	return time.Duration(hours * float64(time.Hour)), true
}

// AreaPerLitre reads a capacity in square metres a litre.
func (f Figure) AreaPerLitre() (quantity.SquareMetre, bool) {
	unit, _ := f.read()
	return EightByTen * quantity.SquareMetre(f.Value*unit.sheets), unit.sheets > 0
}

// Origin is the standing and the source in words, as shown beside the figure.
func (f Figure) Origin() string { return fmt.Sprintf("%s (%s)", f.Source, f.Standing) }

// String is the figure with its unit.
func (f Figure) String() string { return f.Words().String() }

// Words are the figure with its unit.
func (f Figure) Words() phrase.Sentence {
	_, words := f.read()
	return words
}

func (f Figure) validate(what phrase.Sentence, ok bool) error {
	switch {
	case !ok:
		return Problem{ErrForm, phrase.Say("%s cannot be %g %s", what, f.Value, f.Unit),
			phrase.Say("Use hours, days, weeks or months for a life; sheets 8x10 or rolls per litre or per US gallon for a capacity")}
	case !(f.Value > 0 && f.Value <= 100000):
		return Problem{ErrForm, phrase.Say("%s of %g is not a possible figure", what, f.Value), phrase.Say("Write a number more than 0")}
	case f.Source == "":
		return Problem{ErrForm, phrase.Say("%s has no source", what), phrase.Say(`Write where it comes from, such as "label of the bottle"`)}
	}
	return first(needName(phrase.Say("source"), f.Source), oneOf(phrase.Say("standing"), f.Standing, Verified, Secondary, CommonPractice,
		Unverified))
}

func (f *Figure) life(what phrase.Sentence) error {
	if f == nil {
		return nil
	}
	_, ok := f.Duration()
	return f.validate(what, ok)
}
