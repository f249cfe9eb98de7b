package web

import (
	"fmt"
	"slices"
	"time"

	"wetside/rules"
	"wetside/rules/dated"
)

// DatedTable shows rows that hold from a day on: what is asked of the air, or limits.
type DatedTable struct {
	Label, Head, Figure string // the id of its title, and the heads of its first columns
	Rows                []DatedRow
}

// DatedRow is one of them in words.
type DatedRow struct {
	Name, Sub, Figure, Standing, Source, Edition string
	From, Until, Record                          string
}

// InTerm writes when a row holds and what set it, and something else where it bears no date.
func (f Figures) InTerm(row DatedRow, t dated.Term, undated string) DatedRow {
	day := func(t time.Time) string { return t.In(f.Zone).Format(time.DateOnly) }
	row.From = undated
	if !t.Effective.IsZero() {
		row.From = day(t.Effective)
	}
	if !t.Until.IsZero() {
		row.Until = fmt.Sprintf("until %s", day(t.Until))
	}
	if t.Record != 0 {
		row.Record = "entered here"
	}
	return row
}

// AmendmentAsks are the questions that every change of a row asks besides its figure.
func (f Figures) AmendmentAsks() (whose, edition, from, why Ask) {
	return Ask{Field: whoseField(),
			Hint: "The code, standard or decision behind it. An earlier requirement of the same kind from the same source is replaced."},
		Ask{Field: EditionField(), Hint: "Such as its year; may be left empty."},
		Ask{Field: effectiveField(), Hint: "A day like 2026-09-01; left empty: from now on."},
		Ask{Field: WhyField()}
}

// Amendment reads what every change of a row says. The source is that of the row that was
// chosen, or empty where it is asked for.
func (f *FormReader) Amendment(off bool, source string) rules.Amendment {
	a := rules.Amendment{Source: source, Off: off, Effective: f.Effective()}
	if off {
		a.Why = f.Line(WhyField(), true)
		return a
	}
	if a.Source == "" {
		a.Source = f.Line(whoseField(), true)
	}
	a.Edition = f.Line(EditionField(), false)
	return a
}

// Effective reads the day from whose beginning a row holds; empty is from now on.
func (f *FormReader) Effective() time.Time {
	text := f.Get(effectiveField())
	if text == "" {
		return time.Time{}
	}
	t, err := time.ParseInLocation(time.DateOnly, text, f.Zone)
	if err != nil {
		f.Unread(effectiveField(), err, "is not a day. Write it like 2026-09-01.")
		return time.Time{}
	}
	return t
}

// Alternatives are the choices of a question, each said as it is.
func Alternatives[S ~string](all ...S) []Choice {
	choices := make([]Choice, len(all))
	for i, one := range all {
		choices[i] = Choice{Value: string(one), Text: string(one)}
	}
	return choices
}

// PickOf reads one of a few answers.
func PickOf[S ~string](f *FormReader, field Field, answers ...S) S {
	if chosen := S(f.Get(field)); slices.Contains(answers, chosen) {
		return chosen
	}
	f.Unchosen(field)
	return ""
}
