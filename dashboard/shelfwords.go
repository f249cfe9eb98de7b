package dashboard

import (
	"strings"
	"time"

	"wetside/chem"
	"wetside/chem/ledger"
	"wetside/sensors/quantity"
	"wetside/sensors/quantity/phrase"
)

// volumeGrain in mL is the smallest difference of a poured volume worth showing.
const volumeGrain = 3

// volume writes a poured volume in people's unit.
func (f figures) volume(v quantity.Millilitre) string {
	return f.withUnit(volumeDimension, float64(v), volumeGrain)
}

// typedVolume is a volume as a field is filled with it: exact, with its unit.
func (f figures) typedVolume(v quantity.Millilitre) string {
	u := f.unit(volumeDimension)
	return strings.TrimRight(strings.TrimRight(number(u.FromBase(float64(v)), 3), "0"), ".") + " " + u.Symbol()
}

// sourced is where a figure comes from and how far it can be trusted; once where both are the same.
func (f figures) sourced(source string, s ledger.Standing) string {
	if source == string(s) {
		return f.words.Say("shelf.source-only", f.word(s))
	}
	return f.words.Say("shelf.source", source, f.word(s))
}

// sheetName is the size of a sheet by its area, as far as it is a common one.
func (f figures) sheetName(area quantity.SquareMetre) string {
	for _, s := range commonSheets() {
		if d := area/s.Area - 1; d < 1e-6 && d > -1e-6 {
			if s == chem.FilmRoll() {
				return f.words.Say("shelf.roll")
			}
			return s.Name
		}
	}
	return f.words.Say("did.size", f.number(float64(area)*1e4, 0))
}

// rollSize stands for a roll of film among the sizes of sheets.
const rollSize = "roll"

// commonSheets are the sizes that a form offers.
func commonSheets() []chem.Sheet { return append(chem.CommonSheets(), chem.FilmRoll()) }

// typedMoment writes a time as its field is filled with it.
func (f figures) typedMoment(t time.Time) string { return t.In(f.zone).Format("2006-01-02T15:04") }

// sizes are the sizes of sheets to choose from.
func (f figures) sizes() []option {
	var all []option
	for _, s := range chem.CommonSheets() {
		all = append(all, option{Value: s.Name, Text: s.Name})
	}
	return append(all, option{Value: rollSize, Text: f.words.Say("shelf.roll")})
}

// materials are the materials to choose from.
func (f figures) materials() []option { return each(f, ledger.Materials()) }

// each are the values of a kind as choices.
func each[T interface {
	~string
	phrase.Spoken
}](f figures, values []T) []option {
	all := make([]option, len(values))
	for i, value := range values {
		all[i] = option{Value: string(value), Text: f.word(value)}
	}
	return all
}

// verdict gives the word of an answer, and the shape beside it.
func (f figures) verdict(v ledger.Verdict) (word, shape string) {
	switch v {
	case ledger.Pour:
		return f.words.Say("verdict.pour"), "moving"
	case ledger.Discard:
		return f.words.Say("verdict.discard"), "stopped"
	}
	return f.words.Say("verdict.test"), "low"
}
