package class

import (
	"cmp"
	"net/http"

	"wetside/dashboard/cards"
	"wetside/dashboard/web"
	"wetside/rules"
)

// volumeStep in mL is the smallest difference of a tray's content worth showing.
const volumeStep = 10

type bathsBody struct {
	Look web.Look
	// Problem is the sentence of a form that could not be carried out.
	Problem string
	Trays   []tray
	Alarms  []alarmForm
	// Book is where tonight's work is booked, while none is.
	Book string
	// Use is what can be entered while the class runs; nil without a shelf.
	Use *useBody
}

// tray is one bath with what can be entered of it.
type tray struct {
	ID, Name, Role string
	Filled         bool
	Old            bool // the entry is of an older book, which the shelf does not know
	Content        string
	By, At, Volume string
	// Lasting says whether it carries what is booked; nil where nothing wears it out.
	Lasting *cards.LastingLine
	// Forecast is where its temperature goes; nil where nothing is measured.
	Forecast *cards.ForecastLine
	Covered  bool
	trayUse
}

type alarmForm struct {
	rules.AlarmView
	Word, Raised string
	Form         web.Form
}

func (s *Pages) bathsPage(w http.ResponseWriter, r *http.Request, in web.Visit) {
	f, a := s.figures(in.Site), s.Attempt(r)
	body := bathsBody{Look: web.LookOf(r), Problem: a.Sentence()}
	for _, b := range in.Snap.Baths {
		if b.RunningWater() {
			continue // it is neither filled nor emptied
		}
		t := f.tray(b)
		if !s.Lost(in.Snap) {
			t.Forecast = f.Forecast(b)
		}
		body.Trays = append(body.Trays, t)
	}
	for _, alarm := range in.Snap.Alarms {
		body.Alarms = append(body.Alarms, f.alarmForm(alarm, a))
	}
	body.Use = s.use(in, body.Look)
	p := s.PageFor(web.Head{Name: "baths", Title: "Baths"}, body.Look, in)
	if body.Use != nil {
		for i, t := range body.Trays {
			last := body.Use.Lasting[t.ID]
			if body.Trays[i].Lasting, body.Trays[i].trayUse = last, body.Use.of[t.ID]; last != nil {
				body.Book = cmp.Or(body.Book, last.Book)
			}
		}
		p.Styles = append(p.Styles, "shelf.css")
	}
	s.Show(w, r, http.StatusOK, p.With(body))
}

func (f figures) tray(b rules.BathView) tray {
	t := tray{ID: b.Bath.ID, Name: b.Bath.Name, Role: f.RoleBeside(b.Bath), Content: f.Content(b.Portion)}
	if p := b.Portion; p != nil {
		t.Filled, t.By, t.At, t.Covered, t.Old = true, p.By, f.Brief(p.Filled), p.Covered, p.Known == nil
		if p.Volume > 0 {
			t.Volume = f.WithUnit(web.VolumeDimension, float64(p.Volume), volumeStep)
		}
	}
	return t
}

func (f figures) alarmForm(view rules.AlarmView, a web.Attempt) alarmForm {
	out := alarmForm{AlarmView: view, Word: f.AlarmWord(view), Raised: f.Brief(view.Since), Form: f.Form(cards.ActAcknowledge, a)}
	if out.Form.Alarm != view.ID {
		out.Form = f.Form(cards.ActAcknowledge, web.Attempt{})
		out.Form.Alarm = view.ID
	}
	return out
}
