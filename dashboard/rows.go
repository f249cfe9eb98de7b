package dashboard

import (
	"strings"
	"time"

	"wetside/rules"
	"wetside/rules/dated"
)

// datedTable shows rows that hold from a day on: what is asked of the air, or limits.
type datedTable struct {
	Label, Head, Figure string // the id of its title, and the heads of its first columns
	Rows                []datedRow
}

// datedRow is one of them in words.
type datedRow struct {
	Name, Sub, Figure, Standing, Source, Edition string
	From, Until, Record                          string
}

// inTerm writes when a row holds and what set it, and something else where it bears no date.
func (f figures) inTerm(row datedRow, t dated.Term, undated string) datedRow {
	day := func(t time.Time) string { return t.In(f.zone).Format(time.DateOnly) }
	row.From = undated
	if !t.Effective.IsZero() {
		row.From = day(t.Effective)
	}
	if !t.Until.IsZero() {
		row.Until = f.words.Say("required.until", day(t.Until))
	}
	if t.Record != 0 {
		row.Record = f.words.Say("required.record", t.Record)
	}
	return row
}

// amendmentAsks are the questions that every change of a row asks besides its figure.
func (f figures) amendmentAsks() (whose, edition, from, why ask) {
	return ask{Name: "whose", Label: f.words.Say("field.whose"), Hint: f.words.Say("hint.whose")},
		ask{Name: "edition", Label: f.words.Say("field.edition"), Hint: f.words.Say("hint.edition")},
		ask{Name: "effective", Label: f.words.Say("field.effective"), Hint: f.words.Say("hint.effective")},
		ask{Name: "why", Label: f.words.Say("field.why")}
}

// amendment reads what every change of a row says. The source is that of the row that was
// chosen, or empty where it is asked for.
func (f *formReader) amendment(off bool, source string, get func(string) string) rules.Amendment {
	a := rules.Amendment{Source: source, Off: off, Effective: f.effective(get("effective"))}
	if off {
		a.Why = f.text("why", get("why"), longestText, true)
		return a
	}
	if a.Source == "" {
		a.Source = f.text("whose", get("whose"), longestText, true)
	}
	a.Edition = f.text("edition", get("edition"), longestText, false)
	return a
}

// effective reads the day from whose beginning a row holds; empty is from now on.
func (f *formReader) effective(text string) time.Time {
	text = strings.TrimSpace(text)
	if text == "" {
		return time.Time{}
	}
	t, err := time.ParseInLocation(time.DateOnly, text, f.zone)
	if err != nil {
		f.fail("effective", "form.effective", clip(text))
		return time.Time{}
	}
	return t
}

// alternatives are the choices of a question, each said as it is.
func alternatives[S ~string](all ...S) []choice {
	choices := make([]choice, len(all))
	for i, one := range all {
		choices[i] = choice{Value: string(one), Text: string(one)}
	}
	return choices
}

// pickOf reads one of a few answers.
func pickOf[S ~string](f *formReader, field, text string, answers []S) S {
	for _, a := range answers {
		if text == string(a) {
			return a
		}
	}
	return S(f.pick(field, text)) // says that one is to be chosen
}
