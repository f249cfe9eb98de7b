// Package cards draws what several pages show: a bath, the air, what needs doing, a
// finding, the chart of a channel, and what the book of chemistry says of a vessel.
package cards

import (
	"fmt"
	"slices"
	"strings"
	"time"

	"wetside/chem"
	"wetside/chem/ledger"
	"wetside/dashboard/web"
	"wetside/sensors/quantity"
	"wetside/sensors/quantity/phrase"
)

// VolumeGrain in mL is the smallest difference of a poured volume worth showing.
const VolumeGrain = 3

// Volume writes a poured volume in people's unit.
func (f Figures) Volume(v quantity.Millilitre) string {
	return f.WithUnit(web.VolumeDimension, float64(v), VolumeGrain)
}

// TypedVolume is a volume as a field is filled with it: exact, with its unit.
func (f Figures) TypedVolume(v quantity.Millilitre) string {
	u := f.Unit(web.VolumeDimension)
	return strings.TrimRight(strings.TrimRight(web.Number(u.FromBase(float64(v)), 3), "0"), ".") + " " + u.Symbol()
}

// Sourced is where a figure comes from and how far it can be trusted; once where both are the same.
func (f Figures) Sourced(source string, s ledger.Standing) string {
	if s == "" || source == string(s) {
		return fmt.Sprintf("[%s]", source)
	}
	return fmt.Sprintf("[%s; %s]", source, f.Word(s))
}

// sheetName is the size of a sheet by its area, as far as it is a common one.
func (f Figures) sheetName(area quantity.SquareMetre) string {
	for _, s := range CommonSheets() {
		if d := area/s.Area - 1; d < 1e-6 && d > -1e-6 {
			return s.Words()
		}
	}
	return fmt.Sprintf("%s cm²", f.Number(float64(area)*1e4, 0))
}

// RollSize stands for a roll of film among the sizes of sheets.
const RollSize = "roll"

// CommonSheets are the sizes that a form offers.
func CommonSheets() []chem.Sheet { return append(chem.CommonSheets(), chem.FilmRoll()) }

// TypedMoment writes a time as its field is filled with it.
func (f Figures) TypedMoment(t time.Time) string { return t.In(f.Zone).Format("2006-01-02T15:04") }

// Sizes are the sizes of sheets to choose from.
func (f Figures) Sizes() []web.Choice {
	var all []web.Choice
	for _, s := range chem.CommonSheets() {
		all = append(all, web.Choice{Value: s.Name, Text: s.Words()})
	}
	return append(all, web.Choice{Value: RollSize, Text: "film roll"})
}

// Materials are the materials to choose from.
func (f Figures) Materials() []web.Choice { return Each(f, ledger.Materials()) }

// Each are the values of a kind as choices.
func Each[T interface {
	~string
	phrase.Spoken
}](f Figures, values []T) []web.Choice {
	all := make([]web.Choice, len(values))
	for i, value := range values {
		all[i] = web.Choice{Value: string(value), Text: f.Word(value)}
	}
	return all
}

// Verdict gives the word of an answer, and the shape beside it.
func (f Figures) Verdict(v ledger.Verdict) (word, shape string) {
	switch v {
	case ledger.Pour:
		return "POUR", "moving"
	case ledger.Discard:
		return "DISCARD", "stopped"
	}
	return "TEST FIRST", "low"
}

// InTray is the verdict on a bath in a word and a shape. Nobody is asked for a test that has just been passed.
func (f Figures) InTray(v ledger.Verdict, t ledger.Tested) (word, shape string) {
	switch {
	case v == ledger.TestFirst && t == ledger.JustTested:
		return "TESTED", "moving"
	case v == ledger.TestFirst && t == ledger.TestAgain:
		return "TEST AGAIN", "low"
	case v == ledger.TestFirst && t == ledger.NoTest:
		return "NOT KNOWN", "low"
	}
	return f.Verdict(v)
}

// Figures writes what the cards say, in the units of the place.
type Figures struct{ web.Figures }

// Numeral is a result large enough to be read without glasses. Key names it for a machine, where one reads it.
type Numeral struct{ Value, Unit, Label, Other, Key string }

// Newest are the last of a list, the newest first.
func Newest[T any](all []T, most int) []T {
	last := slices.Clone(all[max(0, len(all)-most):])
	slices.Reverse(last)
	return last
}

// Fact is a line of what is known, under its name.
type Fact struct{ Name, Text string }
