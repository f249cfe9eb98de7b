package air

import (
	"strings"

	"wetside/dashboard/web"
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
func (f figures) requiredTable(list []rules.RequiredRow) web.DatedTable {
	t := web.DatedTable{Label: "required", Head: f.Words.Say("required.head-kind"), Figure: f.Words.Say("required.head-flow")}
	for _, q := range list {
		row := web.DatedRow{Name: f.Word(q.Kind), Sub: f.Plain(q.Value) + " " + q.Kind.Unit(), Source: q.Source, Edition: q.Edition}
		if q.Flow > 0 {
			row.Figure = f.flow(q.Flow)
		}
		switch {
		case q.Binds:
			row.Standing = f.Words.Say("required.binds")
		case !q.InForce:
			row.Standing = f.Words.Say("required.later")
		case q.Kind == ventilation.MakeUpShare:
			row.Standing = f.Words.Say("required.make-up")
		default:
			row.Standing = f.Words.Say("required.less")
		}
		t.Rows = append(t.Rows, f.InTerm(row, q.Term, f.Words.Say("required.always")))
	}
	return t
}

// requiredForms add a row to what is asked of the air, change one, and take one off;
// the last two only where there are rows.
func (f figures) requiredForms(l web.Look, rows []rules.RequiredRow, a web.Attempt) []web.AskForm {
	kinds := web.Ask{Name: "asked", Label: f.Words.Say("field.asked"), Value: string(ventilation.AirChangeRate)}
	for _, k := range ventilation.Kinds() {
		kinds.Choices = append(kinds.Choices, web.Choice{Value: string(k), Text: f.Words.Say("required.kind", f.Word(k), k.Unit())})
	}
	figure := web.Ask{Name: "figure", Label: f.Words.Say("field.figure"), Hint: f.Words.Say("hint.figure"), Mode: "text"}
	whose, edition, from, why := f.AmendmentAsks()
	forms := []web.AskForm{f.Asking(l, web.About{Act: actRequire, Summary: f.Words.Say("required.add"),
		Button: f.Words.Say("button.require")}, a, kinds, figure, whose, edition, from)}
	which := f.requiredChoices(rows)
	if len(which) == 0 {
		return forms
	}
	return append(forms,
		f.Asking(l, web.About{Act: actRequireChange, Summary: f.Words.Say("required.change"), Button: f.Words.Say("button.require-change")}, a,
			f.whichRow(which), figure, edition, from),
		f.Asking(l, web.About{Act: actRequireOff, Summary: f.Words.Say("required.off"), Button: f.Words.Say("button.require-off")}, a,
			f.whichRow(which), why, from))
}

func (f figures) requiredChoices(rows []rules.RequiredRow) []web.Choice {
	var list []web.Choice
	for _, r := range rows {
		list = append(list, web.Choice{Value: string(r.Kind) + "|" + r.Source,
			Text: f.Words.Say("required.row", f.Word(r.Kind), f.Plain(r.Value), r.Kind.Unit(), r.Source)})
	}
	return list
}

// readRequire reads what is asked of the air.
func readRequire(f *web.FormReader, act string, get func(string) string) rules.Act {
	kind, source, chosen := strings.Cut(get("row"), "|")
	if act == actRequire {
		kind, source = string(web.PickOf(f, "asked", get("asked"), ventilation.Kinds())), ""
	} else if !chosen {
		f.Pick("row", "")
	}
	a := rules.RequireAir{Asked: ventilation.Kind(kind), Amendment: f.Amendment(act == actRequireOff, source, get)}
	if a.Off {
		return a
	}
	var err error
	if a.Value, err = a.Asked.ReadValue(get("figure")); err != nil {
		f.Fail("figure", "form.required", web.Clip(get("figure")), a.Asked.Unit())
	}
	return a
}
