package dashboard

import (
	"strings"
	"time"

	"wetside/rules"
	"wetside/rules/ventilation"
)

// The acts on what is asked of the air.
const (
	actRequire       = "require"
	actRequireChange = "require-change"
	actRequireOff    = "require-off"
)

// requiredForms add a row to what is asked of the air, change one, and take one off;
// the last two only where there are rows.
func (f figures) requiredForms(l look, rows []rules.RequiredRow, a attempt) []askForm {
	kinds := ask{Name: "asked", Label: f.words.Say("field.asked"), Value: string(ventilation.AirChangeRate)}
	for _, k := range ventilation.Kinds() {
		kinds.Choices = append(kinds.Choices, choice{Value: string(k), Text: f.words.Say("required.kind", string(k), k.Unit())})
	}
	figure := ask{Name: "figure", Label: f.words.Say("field.figure"), Hint: f.words.Say("hint.figure"), Mode: "text"}
	edition := ask{Name: "edition", Label: f.words.Say("field.edition"), Hint: f.words.Say("hint.edition")}
	from := ask{Name: "effective", Label: f.words.Say("field.effective"), Hint: f.words.Say("hint.effective")}
	forms := []askForm{f.asking(l, about{act: actRequire, summary: f.words.Say("required.add"), button: f.words.Say("button.require")}, a, kinds, figure, ask{Name: "whose", Label: f.words.Say("field.whose"), Hint: f.words.Say("hint.whose")}, edition, from)}
	which := f.requiredChoices(rows)
	if len(which.Choices) == 0 {
		return forms
	}
	change, off := which, which
	off.Choices = append([]choice(nil), which.Choices...) // each form checks its own
	return append(forms,
		f.asking(l, about{act: actRequireChange, summary: f.words.Say("required.change"), button: f.words.Say("button.require-change")}, a, change, figure, edition, from),
		f.asking(l, about{act: actRequireOff, summary: f.words.Say("required.off"), button: f.words.Say("button.require-off")}, a, off, ask{Name: "why", Label: f.words.Say("field.why")}, from))
}

// requiredChoices offers each row once, however many versions of it are on the way.
func (f figures) requiredChoices(rows []rules.RequiredRow) ask {
	q := ask{Name: "row", Label: f.words.Say("field.row")}
	offered := map[string]bool{}
	for _, r := range rows {
		value := string(r.Kind) + "|" + r.Source
		if offered[value] {
			continue
		}
		offered[value] = true
		q.Choices = append(q.Choices, choice{Value: value, Text: f.words.Say("required.row", string(r.Kind), f.plain(r.Value), r.Kind.Unit(), r.Source)})
	}
	return q
}

// require reads what is asked of the air.
func (f *formReader) require(act string, get func(string) string) rules.Act {
	a := rules.RequireAir{Off: act == actRequireOff, Effective: f.effective(get("effective"))}
	kind, source, chosen := strings.Cut(get("row"), "|")
	if act == actRequire {
		kind, source = f.pick("asked", get("asked"), kindNames()...), f.text("whose", get("whose"), longestText, true)
	} else if !chosen {
		f.pick("row", "")
	}
	a.Asked, a.Source = ventilation.Kind(kind), source
	if a.Off {
		a.Why = f.text("why", get("why"), longestText, true)
		return a
	}
	a.Edition = f.text("edition", get("edition"), longestText, false)
	var err error
	if a.Value, err = a.Asked.ReadValue(get("figure")); err != nil {
		f.fail("figure", "form.required", clip(get("figure")), a.Asked.Unit())
	}
	return a
}

func kindNames() []string {
	var names []string
	for _, k := range ventilation.Kinds() {
		names = append(names, string(k))
	}
	return names
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
