package dashboard

import (
	"net/http"

	"wetside/dashboard/locale"
	"wetside/rules"
	"wetside/sensors/quantity"
)

const (
	volumeDimension = quantity.LiquidVolume
	// volumeStep in mL is the smallest difference of a tray's content worth showing.
	volumeStep = 10
)

// bathsBody is the page on which trays are filled and emptied and alarms answered.
type bathsBody struct {
	Look    look
	Receipt string
	// Problem is the sentence of a form that could not be carried out.
	Problem string
	Trays   []tray
	Alarms  []alarmForm
	// Use is what can be entered while the class runs; nil without a shelf.
	Use *useBody
}

// tray is one bath with its two forms.
type tray struct {
	ID, Name, Role string
	Filled         bool
	Shelf          string // where a tray that was filled from the shelf is seen to
	Content        string
	By, At, Volume string
	// Lasting says whether it carries what is booked; nil where nothing wears it out.
	Lasting *lastingLine
	// Forecast is where its temperature goes; nil where nothing is measured.
	Forecast    *forecastLine
	Fill, Empty form
	// Cover puts the lid on, or takes it off.
	Cover   askForm
	Covered bool
	Wheres  []choice
}

type alarmForm struct {
	rules.AlarmView
	Word, Raised string
	Form         form
}

// form is one form with what was typed into it, if it comes back.
type form struct {
	typed
	// Wrong is the field to look at, and Open is set when the form comes back.
	Wrong string
	Open  bool
	// Unit is what a bare volume is taken in.
	Unit string
}

func (s *classPages) bathsPage(w http.ResponseWriter, r *http.Request, in visit) {
	f := s.figures(in.site)
	body := bathsBody{Look: lookOf(r), Receipt: s.receipt(r)}
	a := s.attempt(r)
	if a.problem != nil {
		body.Problem = a.problem.Sentence
	}
	for _, b := range in.snap.Baths {
		t := f.tray(b, a)
		t.Cover = f.cover(body.Look, b, a)
		if !s.lost(in.snap) {
			t.Forecast = f.forecast(b)
		}
		body.Trays = append(body.Trays, t)
	}
	for _, alarm := range in.snap.Alarms {
		body.Alarms = append(body.Alarms, f.alarmForm(alarm, a))
	}
	body.Use = s.use(in, body.Look)
	p := s.pageFor("baths", body.Look, in)
	if body.Use != nil {
		for i, t := range body.Trays {
			body.Trays[i].Lasting = body.Use.Lasting[t.ID]
		}
		p.Styles = append(p.Styles, "shelf.css")
	}
	p.Body = body
	s.show(w, r, http.StatusOK, p)
}

func (f figures) tray(b rules.BathView, a attempt) tray {
	t := tray{ID: b.Bath.ID, Name: b.Bath.Name, Role: f.roleBeside(b.Bath), Content: f.content(b.Portion), Wheres: f.wheres()}
	if p := b.Portion; p != nil {
		t.Filled, t.By, t.At, t.Covered = true, p.By, f.brief(p.Filled), p.Covered
		if p.Known != nil {
			t.Shelf = "/shelf"
		}
		if p.Volume > 0 {
			t.Volume = f.withUnit(volumeDimension, float64(p.Volume), volumeStep)
		}
	}
	t.Fill, t.Empty = f.form(actFill, a), f.form(actEmpty, a)
	for _, form := range []*form{&t.Fill, &t.Empty} {
		if form.Bath != t.ID {
			*form = f.form(form.Act, attempt{})
			form.Bath = t.ID
		}
		form.Version = versionOf(b.Portion)
	}
	return t
}

// cover is the form of a tray's lid.
func (f figures) cover(l look, b rules.BathView, a attempt) askForm {
	of := about{act: actCover, bath: b.Bath.ID, summary: f.words.Say("baths.cover"), button: f.words.Say("button.cover")}
	if b.Portion != nil && b.Portion.Covered {
		of.act, of.summary, of.button = actUncover, f.words.Say("baths.uncover"), f.words.Say("button.uncover")
	}
	form := f.asking(l, of, a)
	form.Version = versionOf(b.Portion)
	return form
}

func (f figures) alarmForm(view rules.AlarmView, a attempt) alarmForm {
	out := alarmForm{AlarmView: view, Word: f.alarmWord(view), Raised: f.brief(view.Since), Form: f.form(actAcknowledge, a)}
	if out.Form.Alarm != view.ID {
		out.Form = f.form(actAcknowledge, attempt{})
		out.Form.Alarm = view.ID
	}
	return out
}

// form is an empty form for an act, or the attempt at that act as it was typed.
func (f figures) form(act string, a attempt) form {
	out := form{typed: typed{Act: act, Token: newToken()}, Unit: locale.Symbol(f.unit(volumeDimension))}
	if a.problem != nil && a.typed.Act == act {
		out.typed, out.Wrong, out.Open = a.typed, a.problem.Field, true
	}
	return out
}
