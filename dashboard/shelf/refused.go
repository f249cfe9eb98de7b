package shelf

import (
	"net/http"
	"slices"

	"wetside/dashboard/web"
	"wetside/rules"
)

// refusedStep is a form of a step that was refused. It comes back on the page of its step.
type refusedStep struct {
	slug string
	attemptAt
	shown bool
}

// showStep shows a refused form on the page of its step, as it was typed. It is false where the form is of no step,
// or where what is wrong with it is asked for by the whole form alone.
func (s *Pages) showStep(w http.ResponseWriter, r *http.Request, c shelfContext, k kind, a attemptAt) bool {
	site, room := s.View.Now(), a.values.Get("room")
	at := slices.IndexFunc(site.Rooms, func(snap *rules.Snapshot) bool { return snap.Room == room })
	if a.values.Get("step") == "" || at < 0 {
		return false
	}
	next := web.OwnPath(a.values.Get("next"), "/shelf")
	v := next.Query()
	v.Set(web.NameField, a.values.Get(web.NameField))
	v.Set("token", web.NewToken())
	// Of what it leads to once it goes through, the tray of another amount is not passed over yet.
	v["skip"] = slices.DeleteFunc(v["skip"], func(bath string) bool { return bath == v.Get("for") })
	c.refused = &refusedStep{slug: slug(k.act.Kind()), attemptAt: a}
	step, in := s.setUp, web.Visit{Site: site, Snap: site.Rooms[at]}
	switch next.Path {
	case "/rooms/" + room + "/set-up":
	case "/rooms/" + room + "/take-down":
		step = s.takeDown
	default:
		return false
	}
	page, status := step(r, in, c, attemptAt{v, a.problem})
	if c.refused.shown {
		s.Show(w, r, status, page)
	}
	return c.refused.shown
}

// here says whether the form came back on this page.
func (r *refusedStep) here() bool { return r != nil && r.shown }

// into gives the form of one of the ways what was typed into it.
func (r *refusedStep) into(ways []way) {
	for i := range ways {
		form := ways[i].Form
		if form == nil && ways[i].Test != nil {
			form = ways[i].Test.Form
		}
		if r == nil || r.shown || form == nil || !r.of(form) {
			continue
		}
		form.typed(r.attemptAt)
		ways[i].Open, r.shown = true, true
	}
}

// of says whether it was this form, and whether the form asks for what was wrong.
func (r *refusedStep) of(form *entryForm) bool {
	asked := r.problem.Field == web.NameField
	for _, f := range form.Fields {
		switch {
		case f.Name == "seen": // the picture that was pressed
		case f.Kind != string(hiddenField):
			asked = asked || f.Name == r.problem.Field
		case f.Value != r.values.Get(f.Name):
			return false
		}
	}
	return asked && form.Slug == r.slug
}

// typed puts what was typed into the form again.
func (f *entryForm) typed(a attemptAt) {
	f.keep(a)
	for i := range f.Fields {
		d := &f.Fields[i]
		if d.Kind == string(hiddenField) {
			continue
		}
		d.Value = a.values.Get(d.Name)
		d.Checked = d.Value != ""
		for o := range d.Options {
			d.Options[o].Checked = d.Options[o].Value == d.Value
		}
	}
}
