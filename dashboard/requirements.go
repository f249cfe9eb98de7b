package dashboard

import (
	"strings"

	"wetside/rules"
	"wetside/rules/ventilation"
)

// The acts on what is asked of the air.
const (
	actRequire       = "require"
	actRequireChange = "require-change"
	actRequireOff    = "require-off"
)

// requiredTable shows what is asked of the air.
func (f figures) requiredTable(list []rules.RequiredRow) datedTable {
	t := datedTable{Label: "required", Head: f.words.Say("required.head-kind"), Figure: f.words.Say("required.head-flow")}
	for _, q := range list {
		row := datedRow{Name: f.word(q.Kind), Sub: f.plain(q.Value) + " " + q.Kind.Unit(), Source: q.Source, Edition: q.Edition}
		if q.Flow > 0 {
			row.Figure = f.flow(q.Flow)
		}
		switch {
		case q.Binds:
			row.Standing = f.words.Say("required.binds")
		case !q.InForce:
			row.Standing = f.words.Say("required.later")
		case q.Kind == ventilation.MakeUpShare:
			row.Standing = f.words.Say("required.make-up")
		default:
			row.Standing = f.words.Say("required.less")
		}
		t.Rows = append(t.Rows, f.inTerm(row, q.Term, f.words.Say("required.always")))
	}
	return t
}

// requiredForms add a row to what is asked of the air, change one, and take one off;
// the last two only where there are rows.
func (f figures) requiredForms(l look, rows []rules.RequiredRow, a attempt) []askForm {
	kinds := ask{Name: "asked", Label: f.words.Say("field.asked"), Value: string(ventilation.AirChangeRate)}
	for _, k := range ventilation.Kinds() {
		kinds.Choices = append(kinds.Choices, choice{Value: string(k), Text: f.words.Say("required.kind", f.word(k), k.Unit())})
	}
	figure := ask{Name: "figure", Label: f.words.Say("field.figure"), Hint: f.words.Say("hint.figure"), Mode: "text"}
	whose, edition, from, why := f.amendmentAsks()
	forms := []askForm{f.asking(l, about{act: actRequire, summary: f.words.Say("required.add"), button: f.words.Say("button.require")}, a, kinds, figure, whose, edition, from)}
	which := f.requiredChoices(rows)
	if len(which) == 0 {
		return forms
	}
	return append(forms,
		f.asking(l, about{act: actRequireChange, summary: f.words.Say("required.change"), button: f.words.Say("button.require-change")}, a, f.whichRow(which), figure, edition, from),
		f.asking(l, about{act: actRequireOff, summary: f.words.Say("required.off"), button: f.words.Say("button.require-off")}, a, f.whichRow(which), why, from))
}

func (f figures) requiredChoices(rows []rules.RequiredRow) []choice {
	var list []choice
	for _, r := range rows {
		list = append(list, choice{Value: string(r.Kind) + "|" + r.Source, Text: f.words.Say("required.row", f.word(r.Kind), f.plain(r.Value), r.Kind.Unit(), r.Source)})
	}
	return list
}

// readRequire reads what is asked of the air.
func readRequire(f *formReader, act string, get func(string) string) rules.Act {
	kind, source, chosen := strings.Cut(get("row"), "|")
	if act == actRequire {
		kind, source = string(pickOf(f, "asked", get("asked"), ventilation.Kinds())), ""
	} else if !chosen {
		f.pick("row", "")
	}
	a := rules.RequireAir{Asked: ventilation.Kind(kind), Amendment: f.amendment(act == actRequireOff, source, get)}
	if a.Off {
		return a
	}
	var err error
	if a.Value, err = a.Asked.ReadValue(get("figure")); err != nil {
		f.fail("figure", "form.required", clip(get("figure")), a.Asked.Unit())
	}
	return a
}
