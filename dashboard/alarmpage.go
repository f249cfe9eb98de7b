package dashboard

import (
	"net/http"
	"strconv"
	"time"

	"wetside/rules"
	"wetside/rules/alarm"
)

// alarmsBody is the page on which alarms are answered, put aside and practised.
type alarmsBody struct {
	Look     look
	Receipt  string
	Problem  string
	Armed    bool
	Alarms   []alarmCard
	Aside    []alarmCard
	Complain askForm
	Drill    askForm
	Sounder  askForm
	Sound    soundBox
	Notices  []string
	Todo     todo
	Figures  link // to how the alarms went
}

// alarmCard is one alarm with what may be done about it.
type alarmCard struct {
	rules.AlarmView
	ID                  string // for the page
	Word, Raised, Ended string
	Forms               []askForm
}

func (s *airPages) alarmsPage(w http.ResponseWriter, r *http.Request, in visit) {
	f, l := s.figures(in.site), lookOf(r)
	a, lost := s.attempt(r), s.lost(in.snap)
	body := alarmsBody{Look: l, Receipt: s.receipt(r), Armed: in.snap.Armed, Notices: f.worthKnowing(in.snap, lost),
		Sound: soundBoxOf(in.snap.Room, l), Todo: f.todo(in.snap, lost), Figures: f.below(l, "alarms/figures", f.words.Say("alarms.to-figures"))}
	if a.problem != nil {
		body.Problem = a.problem.Sentence
	}
	body.Alarms, body.Aside = f.alarmCards(in.snap)
	for i := range body.Alarms {
		body.Alarms[i].Forms = f.alarmForms(l, body.Alarms[i].AlarmView, a)
	}
	for i := range body.Aside {
		body.Aside[i].Forms = []askForm{f.asking(l, about{actRestore, body.Aside[i].AlarmView.ID, "", f.words.Say("alarms.restore"), f.words.Say("button.restore")}, a,
			ask{Name: "why", Label: f.words.Say("field.why"), Hint: f.words.Say("hint.may-be-empty")})}
	}
	body.Complain = f.complainForm(l, a)
	body.Drill = f.asking(l, about{act: actDrill, summary: f.words.Say("alarms.drill"), button: f.words.Say("button.drill")}, a,
		ask{Name: "drill", Label: f.words.Say("field.drill"), Hint: f.words.Say("hint.drill")}, ask{Name: "found", Label: f.words.Say("field.found")})
	body.Sounder = f.sounder(l, a)
	p := s.pageFor("alarms", l, in).streamed("alarms")
	p.Styles, p.Scripts = append(p.Styles, "air.css"), []string{"sound.js"}
	p.Body = body
	s.show(w, r, http.StatusOK, p)
}

// alarmCards are the open alarms and those put aside. The name of a card tells what can
// be done about its alarm, so that a page whose forms no longer fit is loaded again.
func (f figures) alarmCards(snap *rules.Snapshot) (open, aside []alarmCard) {
	for _, view := range snap.Alarms {
		standing := "new"
		switch {
		case view.State == string(alarm.LatchedAcknowledged):
			standing = "latched"
		case view.Acknowledged:
			standing = "seen"
		}
		open = append(open, f.alarmCard(view, "alarm-"+view.ID+"-"+standing))
	}
	for _, view := range snap.Aside {
		aside = append(aside, f.alarmCard(view, "aside-"+view.ID))
	}
	return open, aside
}

// alarmParts are the live parts of the page of alarms.
func (s *airPages) alarmParts(in visit, _ look) ([]part, error) {
	f, lost := s.figures(in.site), s.lost(in.snap)
	var d drawing
	s.draw(&d, "part-alert", f.todo(in.snap, lost), "todo")
	s.draw(&d, "part-armed", in.snap.Armed, "armed")
	open, aside := f.alarmCards(in.snap)
	for _, card := range append(open, aside...) {
		s.draw(&d, "part-alarm", card, card.ID)
	}
	s.draw(&d, "part-notices", f.worthKnowing(in.snap, lost), "notices")
	return d.parts, d.err
}

func (f figures) sounder(l look, a attempt) askForm {
	return f.asking(l, about{act: actSounder, summary: f.words.Say("alarms.sounder"), button: f.words.Say("button.sounder")}, a,
		ask{Name: "place", Label: f.words.Say("field.place"), Hint: f.words.Say("hint.place")},
		ask{Name: "heard", Label: f.words.Say("field.heard"), Choices: []choice{{Value: "yes", Text: f.words.Say("heard.yes")}, {Value: "no", Text: f.words.Say("heard.no")}}})
}

func (f figures) alarmCard(view rules.AlarmView, id string) alarmCard {
	view.Text, view.Act = f.told(view.Text), f.told(view.Act)
	card := alarmCard{AlarmView: view, ID: id, Word: f.alarmWord(view), Raised: f.brief(view.Since)}
	if !view.Until.IsZero() {
		card.Ended = f.brief(view.Until)
	}
	return card
}

// alarmForms are the acts that an open alarm can be answered with, the usual one first.
func (f figures) alarmForms(l look, view rules.AlarmView, a attempt) []askForm {
	done := ask{Name: "done", Label: f.words.Say("field.done")}
	why := ask{Name: "why", Label: f.words.Say("field.why")}
	var forms []askForm
	switch {
	case !view.Acknowledged:
		forms = append(forms, f.asking(l, about{actAcknowledge, view.ID, "", f.words.Say("baths.acknowledge"), f.words.Say("button.acknowledge")}, a, done))
	case view.State == string(alarm.LatchedAcknowledged):
		forms = append(forms, f.asking(l, about{actReset, view.ID, "", f.words.Say("alarms.reset"), f.words.Say("button.reset")}, a, done))
	}
	if view.ID == "history" {
		return forms
	}
	minutes := ask{Name: "minutes", Label: f.words.Say("field.minutes"), Value: "30"}
	for _, m := range shelvings() {
		n, _ := strconv.Atoi(m) // they are numbers
		minutes.Choices = append(minutes.Choices, choice{Value: m, Text: f.length(time.Duration(n) * time.Minute)})
	}
	return append(forms,
		f.asking(l, about{actShelve, view.ID, "", f.words.Say("alarms.shelve"), f.words.Say("button.shelve")}, a, minutes, why),
		f.asking(l, about{actDisable, view.ID, "", f.words.Say("alarms.disable"), f.words.Say("button.disable")}, a, why))
}

// length is a whole length of time in words.
func (f figures) length(d time.Duration) string {
	if d >= time.Hour {
		return f.words.Say("length.hours", int(d.Hours()))
	}
	return f.words.Say("length.minutes", int(d.Minutes()))
}
