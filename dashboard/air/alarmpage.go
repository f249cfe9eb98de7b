package air

import (
	"fmt"
	"net/http"
	"strconv"
	"time"

	"wetside/dashboard/cards"
	"wetside/dashboard/web"
	"wetside/rules"
)

type alarmsBody struct {
	Problem string
	Armed   bool
	Alarms  []alarmCard
	Aside   []alarmCard
	Seers   []cards.SeerCard
	Entries []entryCard
	Sound   cards.SoundBox
	Notices []string
	Todo    cards.Todo
	Figures web.Link // to how the alarms went
}

// alarmCard is one alarm with what may be done about it.
type alarmCard struct {
	rules.AlarmView
	ID                  string // for the page
	Word, Raised, Ended string
	Forms               []web.AskForm
}

func (s *Pages) alarmsPage(w http.ResponseWriter, r *http.Request, in web.Visit) {
	f, l := s.figures(in.Site), web.LookOf(r)
	a, lost := s.Attempt(r), s.Lost(in.Snap)
	body := alarmsBody{Problem: a.Sentence(), Armed: in.Snap.Armed, Notices: f.worthKnowing(in.Snap, lost),
		Sound: cards.SoundBoxOf(in.Snap.Room, l), Todo: f.Todo(in.Snap, lost), Figures: l.Link("alarms/figures", "Alarm statistics"),
		Seers: f.SeerCards(s.Kit, r, in.Snap, r.URL.Path), Entries: f.entryCards(l, a)}
	body.Alarms, body.Aside = f.alarmCards(in.Snap)
	for i := range body.Alarms {
		body.Alarms[i].Forms = f.alarmForms(l, body.Alarms[i].AlarmView, a)
	}
	for i := range body.Aside {
		body.Aside[i].Forms = []web.AskForm{f.Asking(l, web.About{Act: actRestore, Alarm: body.Aside[i].AlarmView.ID,
			Summary: "Switch it back on", Button: "Switch on"}, a,
			web.Ask{Field: web.WhyField(), Hint: "may be left empty"})}
	}
	p := s.PageFor(web.Head{Name: "alarms", Title: "Alarms"}, l, in).Streamed("alarms")
	p.Styles, p.Scripts = append(p.Styles, "air.css"), []string{"sound.js"}
	s.Show(w, r, http.StatusOK, p.With(body))
}

// alarmCards are the open alarms and those put aside. The name of a card tells what can
// be done about its alarm, so that a page whose forms no longer fit is loaded again.
func (f figures) alarmCards(snap *rules.Snapshot) (open, aside []alarmCard) {
	for _, view := range snap.Alarms {
		standing := "new"
		if view.Acknowledged {
			standing = "seen"
		}
		open = append(open, f.alarmCard(view, "alarm-"+view.ID+"-"+standing))
	}
	for _, view := range snap.Aside {
		aside = append(aside, f.alarmCard(view, "aside-"+view.ID))
	}
	return open, aside
}

func (s *Pages) alarmParts(d *web.Drawing, in web.Visit, _ web.Look) {
	f, lost := s.figures(in.Site), s.Lost(in.Snap)
	d.Part("part-alert", f.Todo(in.Snap, lost), "todo")
	d.Part("part-armed", in.Snap.Armed, "armed")
	open, aside := f.alarmCards(in.Snap)
	for _, card := range append(open, aside...) {
		d.Part("part-alarm", card, card.ID)
	}
	d.Part("part-notices", f.worthKnowing(in.Snap, lost), "notices")
}

func (f figures) alarmCard(view rules.AlarmView, id string) alarmCard {
	view.Text, view.Act = f.InUnits(view.Text), f.InUnits(view.Act)
	card := alarmCard{AlarmView: view, ID: id, Word: f.AlarmWord(view), Raised: f.Brief(view.Since)}
	if !view.Until.IsZero() {
		card.Ended = f.Brief(view.Until)
	}
	return card
}

// alarmForms are the acts that an open alarm can be answered with, the usual one first.
func (f figures) alarmForms(l web.Look, view rules.AlarmView, a web.Attempt) []web.AskForm {
	why := web.Ask{Field: web.WhyField()}
	var forms []web.AskForm
	if !view.Acknowledged {
		forms = append(forms, f.Asking(l, web.About{Act: cards.ActAcknowledge, Alarm: view.ID,
			Summary: "Acknowledge, and say what you did", Button: "Acknowledge"}, a, web.Ask{Field: web.DoneField()}))
	}
	if view.ID == "history" {
		return forms
	}
	minutes := web.Ask{Field: minutesField, Value: "30"}
	for _, m := range shelvings() {
		n, _ := strconv.Atoi(m) // they are numbers
		minutes.Choices = append(minutes.Choices, web.Choice{Value: m, Text: f.length(time.Duration(n) * time.Minute)})
	}
	return append(forms,
		f.Asking(l, web.About{Act: actShelve, Alarm: view.ID, Summary: "Snooze it", Button: "Snooze"}, a, minutes, why),
		f.Asking(l, web.About{Act: actDisable, Alarm: view.ID, Summary: "Switch this alarm off", Button: "Switch off"}, a, why))
}

// length is a whole length of time in words.
func (f figures) length(d time.Duration) string {
	if d >= time.Hour {
		return fmt.Sprintf("%d h", int(d.Hours()))
	}
	return fmt.Sprintf("%d min", int(d.Minutes()))
}

func readMinutes(f *web.FormReader) time.Duration {
	n, _ := strconv.Atoi(web.PickOf(f, minutesField, shelvings()...))
	return time.Duration(n) * time.Minute
}

// shelvings are for how many minutes an alarm may be put aside.
func shelvings() []string { return []string{"15", "30", "60", "120", "240", "720"} }
