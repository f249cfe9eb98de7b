package dashboard

import (
	"time"

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
		return f.words.Say("unexposed.none")
	}
	return f.words.Say("unexposed.holds", v.By, v.On.In(f.zone).Format(time.DateOnly), v.Record, v.Why)
}

// unexposedForms make the statement, and withdraw one; none where no gas is read.
func (f figures) unexposedForms(l look, snap *rules.Snapshot, a attempt) []askForm {
	if len(snap.Breathing) == 0 {
		return nil
	}
	from := ask{Name: "effective", Label: f.words.Say("field.unexposed-from"), Hint: f.words.Say("hint.effective")}
	forms := []askForm{f.asking(l, about{act: actUnexposed, summary: f.words.Say("unexposed.add"), button: f.words.Say("button.unexposed")}, a,
		ask{Name: "why", Label: f.words.Say("field.unexposed-why"), Hint: f.words.Say("hint.unexposed-why")}, from)}
	if !breathing.VouchedAt(snap.Unexposed, snap.At.Wall).Holds() {
		return forms
	}
	return append(forms, f.asking(l, about{act: actUnexposedOff, summary: f.words.Say("unexposed.off"), button: f.words.Say("button.unexposed-off")}, a,
		ask{Name: "why", Label: f.words.Say("field.why")}, from))
}

// unexposed reads the statement, or that it is withdrawn.
func (f *formReader) unexposed(act string, get func(string) string) rules.Act {
	return rules.StateUnexposed{Off: act == actUnexposedOff, Why: f.text("why", get("why"), longestText, true), Effective: f.effective(get("effective"))}
}
