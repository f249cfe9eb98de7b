package air

import (
	"fmt"
	"time"

	"wetside/dashboard/web"
	"wetside/rules"
	"wetside/rules/breathing"
)

// The acts on the statement that nobody is exposed outside of a class.
const (
	actUnexposed    = "unexposed"
	actUnexposedOff = "unexposed-off"
)

// unexposed says whether time outside of a class counts as zero, and by whose word.
func (f figures) unexposed(snap *rules.Snapshot) string {
	v := breathing.VouchedAt(snap.Unexposed, snap.At.Wall)
	if !v.Holds() {
		return "An average over 8 h divides by 8 h however long the class was (29 CFR 1910.1000(d)(1)(i)), and nobody measures the rest of " +
			"the day. A manager can state that nobody is exposed outside the class; without a statement, such an average of a short class " +
			"can't be judged."
	}
	return fmt.Sprintf("Averages over a working day rest on a statement: %s stated on %s that nobody is exposed outside the class. "+
		"Reason given: %s", v.By, v.On.In(f.Zone).Format(time.DateOnly), v.Why)
}

// unexposedForms make the statement, and withdraw one; none where no gas is read.
func (f figures) unexposedForms(l web.Look, snap *rules.Snapshot, a web.Attempt) []web.AskForm {
	if len(snap.Breathing) == 0 {
		return nil
	}
	from := web.Ask{Field: unexposedFromField, Hint: "A day like 2026-09-01; left empty: from now on."}
	forms := []web.AskForm{f.Asking(l, web.About{Act: actUnexposed, Summary: "State that nobody is exposed outside the class",
		Button: "Record the statement"}, a,
		web.Ask{Field: unexposedWhyField, Hint: "Such as: nobody here works with these chemicals elsewhere."}, from)}
	if !breathing.VouchedAt(snap.Unexposed, snap.At.Wall).Holds() {
		return forms
	}
	return append(forms, f.Asking(l, web.About{Act: actUnexposedOff, Summary: "Withdraw the statement",
		Button: "Withdraw the statement"}, a,
		web.Ask{Field: web.WhyField()}, from))
}

func readUnexposed(f *web.FormReader, t web.Typed) rules.StateUnexposed {
	return rules.StateUnexposed{Off: t.Act == actUnexposedOff, Why: f.Line(web.WhyField(), true),
		Effective: f.Effective()}
}
