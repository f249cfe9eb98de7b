package ledger

import (
	"fmt"
	"time"

	"wetside/sensors/quantity"
	"wetside/sensors/quantity/phrase"
)

// Standing says how far a figure can be trusted.
type Standing string

// The standings. A figure that is unverified never condemns a bath on its own.
const (
	Verified       Standing = "verified"
	Secondary      Standing = "secondary"
	CommonPractice Standing = "common practice"
	Unverified     Standing = "unverified"
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

// Duration reads a figure in hours, days, weeks or months; a month is 30 days here.
func (f Figure) Duration() (time.Duration, bool) {
	unit, ok := map[string]float64{"hours": 1, "days": 24, "weeks": 7 * 24, "months": 30 * 24}[f.Unit]
	hours := f.Value * unit
	if !ok || !(hours >= 0 && hours <= longestLife) {
		return 0, false
	}
	return time.Duration(hours * float64(time.Hour)), true
}

// AreaPerLitre reads a capacity in square metres a litre. A sheet 8 x 10 in and
// a roll are both 80 square inches.
func (f Figure) AreaPerLitre() (quantity.SquareMetre, bool) {
	sheets, ok := map[string]float64{"sheets 8x10 per litre": 1, "sheets 8x10 per US gallon": 1 / litresPerGallon,
		"rolls per litre": 1, "rolls per US gallon": 1 / litresPerGallon}[f.Unit]
	return EightByTen * quantity.SquareMetre(f.Value*sheets), ok
}

// Origin is the standing and the source in words, as shown beside the figure.
func (f Figure) Origin() string { return fmt.Sprintf("%s (%s)", f.Source, f.Standing) }

// bracketed is the origin beside a figure, as the pages write it: once where source and standing are the same.
func (f Figure) bracketed() phrase.Sentence {
	if f.Source == string(f.Standing) {
		return phrase.Say("[%s]", f.Source)
	}
	return phrase.Say("[%s; %s]", f.Source, f.Standing)
}

// String is the figure with its unit.
func (f Figure) String() string { return f.words().String() }

func (f Figure) words() phrase.Sentence {
	switch f.Unit {
	case "hours":
		return phrase.Measured("%g hours", f.Value)
	case "days":
		return phrase.Measured("%g days", f.Value)
	case "weeks":
		return phrase.Measured("%g weeks", f.Value)
	case "months":
		return phrase.Measured("%g months", f.Value)
	case "sheets 8x10 per litre":
		return phrase.Measured("%g sheets 8x10 per litre", f.Value)
	case "sheets 8x10 per US gallon":
		return phrase.Measured("%g sheets 8x10 per US gallon", f.Value)
	case "rolls per litre":
		return phrase.Measured("%g rolls per litre", f.Value)
	case "rolls per US gallon":
		return phrase.Measured("%g rolls per US gallon", f.Value)
	}
	return phrase.Measured("%g %s", f.Value, f.Unit)
}

func (f Figure) validate(what phrase.Sentence, ok bool) error {
	switch {
	case !ok:
		return Problem{ErrForm, phrase.Say("%s cannot be %g %s", what, f.Value, f.Unit), phrase.Say("Use hours, days, weeks or months for a life; sheets 8x10 or rolls per litre or per US gallon for a capacity")}
	case !(f.Value > 0 && f.Value <= 100000):
		return Problem{ErrForm, phrase.Say("%s of %g is no figure", what, f.Value), phrase.Say("Write a number more than 0")}
	case f.Source == "":
		return Problem{ErrForm, phrase.Say("%s has no source", what), phrase.Say(`Write where it comes from, such as "label of the bottle"`)}
	}
	return first(needName(phrase.Say("source"), f.Source), oneOf(phrase.Say("standing"), f.Standing, Verified, Secondary, CommonPractice, Unverified))
}

func (f *Figure) life(what phrase.Sentence) error {
	if f == nil {
		return nil
	}
	_, ok := f.Duration()
	return f.validate(what, ok)
}
