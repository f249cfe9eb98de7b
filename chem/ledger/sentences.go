package ledger

import (
	"slices"

	"wetside/chem"
	"wetside/sensors/quantity"
	"wetside/sensors/quantity/phrase"
)

// inSecondsOf writes a time that somebody took with a watch.
func inSecondsOf(seconds float64) phrase.Sentence { return phrase.Say("%g s", seconds) }

// sheetName is the size of a sheet by its area, as far as it is a common one.
func sheetName(area quantity.SquareMetre) phrase.Sentence {
	alike := func(s chem.Sheet) bool { d := area/s.Area - 1; return d < 1e-6 && d > -1e-6 }
	sheets := chem.CommonSheets()
	if at := slices.IndexFunc(sheets, alike); at >= 0 {
		return phrase.Plain(sheets[at].Words())
	}
	if alike(chem.FilmRoll()) {
		return phrase.Say("roll of film")
	}
	return phrase.Say("%.0f cm²", 1e4*float64(area))
}

// named leaves out the names that were not given.
func named(names ...string) []string {
	return slices.DeleteFunc(names, func(name string) bool { return name == "" })
}
