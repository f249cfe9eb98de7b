package shelf

import (
	"net/url"
	"slices"

	"wetside/chem/ledger"
	"wetside/dashboard/cards"
	"wetside/dashboard/web"
	"wetside/rules"
)

// asLast fills the trays of the last session once more, recorded in one press: what stands
// ready for each, with the test that has to be passed before it is poured.
type asLast struct{ Rows []lastRow }

// lastRow is one tray with the best way to fill it.
type lastRow struct {
	way
	Bath, Name string
	Seen       string // what the test showed, as chosen
	Leave      bool   // the tray is left to a step of its own
}

// asLastTime is the act of the form.
const asLastTime = "as-last-time"

// asLast is empty where no tray of the last session can be filled in this way.
func (c setUpPart) asLast(room string, v url.Values) *asLast {
	var a asLast
	c.plan()
	last, taken := c.filledLast(room), map[string]bool{}
	for _, from := range last {
		taken[from] = true
	}
	for _, t := range c.traysOf(room) {
		from, before := last[c.book.TrayOf(t)]
		_, filled := c.book.InTray(t.Bath, c.book.At)
		if filled || slices.Contains(v["skip"], t.Bath) || !before {
			continue
		}
		if best, ok := bestOf((filling{c.shelfContext, t, v}).bathStep().Ways, from, taken); ok {
			row := c.lastRow(t, best, v)
			if taken[best.Form.field("from").Value] = true; best.From.ID != "" && !row.Leave {
				c.earlier.mixes(best.From, row.Form, best.Draws)
			}
			a.Rows = append(a.Rows, row)
		}
	}
	if len(a.Rows) == 0 {
		return nil
	}
	return &a
}

// bestOf is the way of last time, from the bottle into which the bath went back; else the best one
// from a bottle that no other tray is poured from.
func bestOf(ways []way, from string, taken map[string]bool) (best way, ok bool) {
	for _, w := range ways {
		if w.Test != nil {
			w.Form = w.Then
		}
		if w.Form == nil || w.Ask != nil || w.Part || w.Form.field("from").Value == "" { // of these trays none is filled in one press
			continue
		}
		source := w.Form.field("from").Value
		if source == from {
			return w, true
		}
		if pours := w.Form.Slug == "portion-poured"; !ok && !(pours && taken[source]) {
			best, ok = w, true
		}
	}
	return best, ok
}

// field is one of the form by its name; one that the form does not have is changed for nothing.
func (f *entryForm) field(name string) *drawnField {
	if at := slices.IndexFunc(f.Fields, func(d drawnField) bool { return d.Name == name }); at >= 0 {
		return &f.Fields[at]
	}
	return new(drawnField)
}

// lastRow puts what was typed before back into the fields, which are named after their tray.
func (c setUpPart) lastRow(t cards.ShelfTray, best way, v url.Values) lastRow {
	row := lastRow{way: best, Bath: t.Bath, Name: t.Name, Seen: v.Get(t.Bath + ".seen")}
	row.Leave = v.Get("act") == asLastTime && !slices.Contains(v["fills"], t.Bath)
	for i := range row.Form.Fields {
		f := &row.Form.Fields[i]
		if name := t.Bath + "." + f.Name; f.Kind != string(hiddenField) && v.Has(name) {
			f.Value = v.Get(name)
		}
	}
	return row
}

// Asked are the fields of a tray that are shown.
func (r lastRow) Asked() (fields []drawnField) {
	for _, f := range r.Form.Fields {
		if f.Kind != string(hiddenField) {
			f.Name = r.Bath + "." + f.Name
			fields = append(fields, f)
		}
	}
	return fields
}

// filledLast are the trays of a room that were filled in the session before the one that is open,
// each with the bottle from which it was poured, or into which it went back.
func (c setUpPart) filledLast(room string) map[string]string {
	before, trays := map[string]string{}, map[string]string{}
	for e := range c.book.Effective() {
		if _, opened := e.Act.(ledger.SessionOpened); opened && c.book.AsKept(e).Room == room {
			before, trays = trays, map[string]string{}
		}
		for _, tray := range ledger.Fills(e.Act) {
			trays[tray] = ""
		}
		switch a := e.Act.(type) {
		case ledger.PortionPoured:
			trays[a.To] = a.From
		case ledger.Returned:
			trays[a.From] = a.To
		}
	}
	return before
}

// asLast reads the trays that were filled; the book says anew what stands ready for each.
func (r *entryReader) asLast(snap *rules.Snapshot) cards.ShelfEntry {
	e := cards.ShelfEntry{Room: snap.Room, Person: r.form.Who()}
	session, open := r.cards().OpenSession(snap.Room)
	ready := setUpPart{r.shelfContext}.asLast(snap.Room, r.values)
	if !open || ready == nil {
		r.form.Fail("act", "The trays have changed since this page was shown. Look again before you pour.")
		return e
	}
	e.Session = session.ID
	var acts []ledger.Act
	r.plan()
	for _, row := range ready.Rows {
		if !row.Leave {
			acts = append(acts, r.lastActs(row)...)
		}
	}
	if len(acts) == 0 {
		r.form.Fail("act", "Tick at least one tray, or go on one bath at a time.")
		return e
	}
	e.Before, e.Act = acts[:len(acts)-1], acts[len(acts)-1]
	return e
}

// lastActs are the test of a bath where the book asks for one, and its pour if the test was passed.
func (r *entryReader) lastActs(row lastRow) (acts []ledger.Act) {
	if row.Test != nil {
		at := slices.IndexFunc(row.Test.Choices, func(c seenChoice) bool { return c.Value == row.Seen })
		if at < 0 {
			r.form.Fail(row.Bath+".seen", "%s: test it first, and choose what you see. It is poured only if the test is passed.", row.Name)
			return nil
		}
		acts = append(acts, r.stepActs(row, row.Test.Form)...)
		if row.Test.Choices[at].Bad {
			return acts
		}
	}
	return append(acts, r.stepActs(row, row.Form)...)
}

// stepActs reads the acts of a step from its form and from what was typed for its tray.
func (r *entryReader) stepActs(row lastRow, form *entryForm) []ledger.Act {
	v := url.Values{web.NameField: {r.values.Get(web.NameField)}, "seen": {row.Seen}}
	for _, f := range form.Fields {
		if f.Value != "" {
			v.Set(f.Name, f.Value)
		}
	}
	k, _ := kindOf(form.Slug)
	e, wrong := r.read(k, v)
	if wrong != nil && r.form.Problem == nil {
		r.form.Problem = &web.Problem{Field: row.Bath + "." + wrong.Field, Sentence: row.Name + ": " + wrong.Sentence}
	}
	if mixed, is := e.Act.(ledger.BatchMixed); is {
		r.earlier.named[mixed.Batch] = true
	}
	return append(e.Before, e.Act)
}

// afterLast passes over the trays that the last session did without, once the others are filled.
func (c setUpPart) afterLast(room string, skip []string) []string {
	last := c.filledLast(room)
	for _, t := range c.traysOf(room) {
		if _, before := last[c.book.TrayOf(t)]; !before && !slices.Contains(skip, t.Bath) {
			skip = append(skip, t.Bath)
		}
	}
	return skip
}
