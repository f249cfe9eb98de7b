package air

import (
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
		return f.Words.Say("unexposed.none")
	}
	return f.Words.Say("unexposed.holds", v.By, v.On.In(f.Zone).Format(time.DateOnly), v.Record, v.Why)
}

// unexposedForms make the statement, and withdraw one; none where no gas is read.
func (f figures) unexposedForms(l web.Look, snap *rules.Snapshot, a web.Attempt) []web.AskForm {
	if len(snap.Breathing) == 0 {
		return nil
	}
	from := web.Ask{Name: "effective", Label: f.Words.Say("field.unexposed-from"), Hint: f.Words.Say("hint.effective")}
	forms := []web.AskForm{f.Asking(l, web.About{Act: actUnexposed, Summary: f.Words.Say("unexposed.add"),
		Button: f.Words.Say("button.unexposed")}, a,
		web.Ask{Name: "why", Label: f.Words.Say("field.unexposed-why"), Hint: f.Words.Say("hint.unexposed-why")}, from)}
	if !breathing.VouchedAt(snap.Unexposed, snap.At.Wall).Holds() {
		return forms
	}
	return append(forms, f.Asking(l, web.About{Act: actUnexposedOff, Summary: f.Words.Say("unexposed.off"),
		Button: f.Words.Say("button.unexposed-off")}, a,
		web.Ask{Name: "why", Label: f.Words.Say("field.why")}, from))
}

// readUnexposed reads the statement, or that it is withdrawn.
func readUnexposed(f *web.FormReader, act string, get func(string) string) rules.Act {
	return rules.StateUnexposed{Off: act == actUnexposedOff, Why: f.Text("why", get("why"), web.LongestText, true),
		Effective: f.Effective(get("effective"))}
}
