package air

import (
	"fmt"
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
	t := web.DatedTable{Label: "required", Head: "Requirement", Figure: "In this room"}
	for _, q := range list {
		row := web.DatedRow{Name: f.Word(q.Kind), Sub: f.Plain(q.Value) + " " + q.Kind.Unit(), Source: q.Source, Edition: q.Edition}
		if q.Flow > 0 {
			row.Figure = f.flow(q.Flow)
		}
		switch {
		case q.Binds:
			row.Standing = "strictest: this one applies"
		case !q.InForce:
			row.Standing = "not in force yet"
		case q.Kind == ventilation.MakeUpShare:
			row.Standing = "a share of the exhaust"
		default:
			row.Standing = "met if the strictest is met"
		}
		t.Rows = append(t.Rows, f.InTerm(row, q.Term, "no start date"))
	}
	return t
}

// requiredForms add a row to what is asked of the air, change one, and take one off;
// the last two only where there are rows.
func (f figures) requiredForms(l web.Look, rows []rules.RequiredRow, a web.Attempt) []web.AskForm {
	kinds := web.Ask{Field: askedField, Value: string(ventilation.AirChangeRate)}
	for _, k := range ventilation.Kinds() {
		kinds.Choices = append(kinds.Choices, web.Choice{Value: string(k), Text: fmt.Sprintf("%s (in %s)", f.Word(k), k.Unit())})
	}
	figure := web.Ask{Field: requiredField, Hint: "A number in the unit of the requirement. A flow per area may also be in cfm/ft2.",
		Mode: "text"}
	whose, edition, from, why := f.AmendmentAsks()
	forms := []web.AskForm{f.Asking(l, web.About{Act: actRequire, Summary: "Add a requirement",
		Button: "Add the requirement"}, a, kinds, figure, whose, edition, from)}
	which := f.requiredChoices(rows)
	if len(which) == 0 {
		return forms
	}
	return append(forms,
		f.Asking(l, web.About{Act: actRequireChange, Summary: "Change a requirement", Button: "Change the requirement"}, a,
			f.whichRow(rowField, which), figure, edition, from),
		f.Asking(l, web.About{Act: actRequireOff, Summary: "Remove a requirement", Button: "Remove the requirement"}, a,
			f.whichRow(rowField, which), why, from))
}

func (f figures) requiredChoices(rows []rules.RequiredRow) []web.Choice {
	var list []web.Choice
	for _, r := range rows {
		list = append(list, web.Choice{Value: string(r.Kind) + "|" + r.Source,
			Text: fmt.Sprintf("%s, %s %s: %s", f.Word(r.Kind), f.Plain(r.Value), r.Kind.Unit(), r.Source)})
	}
	return list
}

func readRequire(f *web.FormReader, t web.Typed) rules.RequireAir {
	kind, source, chosen := strings.Cut(f.Get(rowField), "|")
	if t.Act == actRequire {
		kind, source = string(web.PickOf(f, askedField, ventilation.Kinds()...)), ""
	} else if !chosen {
		f.Unchosen(rowField)
	}
	a := rules.RequireAir{Asked: ventilation.Kind(kind), Amendment: f.Amendment(t.Act == actRequireOff, source)}
	if a.Off {
		return a
	}
	var err error
	if a.Value, err = a.Asked.ReadValue(f.Get(requiredField)); err != nil {
		f.Unread(requiredField, err, "is not a number in %s.", a.Asked.Unit())
	}
	return a
}
