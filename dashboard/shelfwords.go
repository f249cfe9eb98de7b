package dashboard

import (
	"strings"

	"wetside/chem"
	"wetside/chem/ledger"
	"wetside/sensors/quantity"
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
