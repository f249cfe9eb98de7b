package shelf

import (
	"context"
	"encoding/json"
	"errors"
	"fmt"
	"maps"
	"net/http"
	"net/url"
	"slices"
	"strconv"
	"strings"
	"time"

	"wetside/chem"
	"wetside/chem/ledger"
	"wetside/dashboard/cards"
	"wetside/dashboard/web"
	"wetside/sensors/quantity"
	"wetside/sensors/quantity/phrase"
)

func (s *Pages) onShelf(h func(http.ResponseWriter, *http.Request, shelfContext)) http.HandlerFunc {
	return func(w http.ResponseWriter, r *http.Request) { h(w, r, s.reads()) }
}

// reads is the book as it stands, which later entries don't change.
func (s *Pages) reads() shelfContext {
	return shelfContext{figures: s.figures(s.View.Now()), book: s.Shelf.Book()}
}

type enterBody struct {
	Form    entryForm
	Problem string
	Guide   *guideCard
	Which   string // of the choices is meant, asked before the form is shown
	Choices []web.Link
	NoTest  *web.Link // the vessel whose content no test fits
	Look    web.Look
}

func (s *Pages) enterPage(w http.ResponseWriter, r *http.Request, c shelfContext) {
	k, known := kindOf(r.PathValue("kind"))
	if !known {
		s.Fail(w, r, web.Failure{Status: http.StatusNotFound, Sentence: "There is no such form."})
		return
	}
	v := web.WithName(r, r.URL.Query())
	if of, err := strconv.ParseUint(v.Get("corrects"), 10, 64); err == nil {
		c.recallInto(of, v)
	}
	if _, is := k.act.(ledger.TestDone); is && v.Get("test") == "" {
		if only := c.testsOf(v.Get("container")); len(only) == 1 {
			v.Set("test", string(only[0]))
		}
	}
	s.showEntry(w, r, c, k, attemptAt{values: v})
}

// attemptAt is what was typed into a form of the shelf, and what was wrong with it.
type attemptAt struct {
	values  url.Values
	problem *web.Problem
}

func (s *Pages) showEntry(w http.ResponseWriter, r *http.Request, c shelfContext, k kind, a attemptAt) {
	body := enterBody{Form: c.draw(k, a.values), Look: web.LookOf(r)}
	body.Form.Cautions = c.cautions(a.values)
	status := http.StatusOK
	if a.problem != nil {
		status = http.StatusUnprocessableEntity
		body.Problem = a.problem.Sentence
		body.Form.keep(a)
	}
	switch k.act.(type) {
	case ledger.TestDone:
		body.Which = "Which test did you do?"
		body.Guide, body.Choices = c.guide(a.values)
		if body.Guide == nil && len(body.Choices) == 0 {
			body.NoTest = &web.Link{Href: shelfHref(a.values.Get("container")), Text: a.values.Get("container")}
		}
	case ledger.ClosingListWritten, ledger.ClosingListSigned:
		body.chooseList(c, ledger.ClosingList(a.values.Get("list")))
	}
	p := s.shelfPage(r, web.Head{Name: "enter", Title: body.Form.Title})
	p.Scripts = append(p.Scripts, "typing.js")
	s.Show(w, r, status, p.With(body))
}

// chooseList asks first which closing list is meant: the form shows the lines of one of them.
func (b *enterBody) chooseList(c shelfContext, list ledger.ClosingList) {
	if slices.Contains(ledger.ClosingLists(), list) {
		b.Form.Title += " " + c.Word(list)
		return
	}
	b.Which = "Which list?"
	for _, list := range ledger.ClosingLists() {
		q := url.Values{"list": {string(list)}}
		b.Choices = append(b.Choices, web.Link{Href: "/shelf/enter/" + b.Form.Slug + "?" + q.Encode(), Text: phrase.Capital(c.Word(list))})
	}
}

// entryLate stands for the fields of a late entry in a [web.Problem] that such an entry may solve.
const entryLate = "late"

// keep marks the field that is wrong, and keeps the token: it is the same press, tried again.
func (f *entryForm) keep(a attemptAt) {
	f.Token, f.Wrong = a.values.Get("token"), a.problem.Field
	for i := range f.Fields {
		f.Fields[i].Wrong = f.Fields[i].Name == f.Wrong
	}
	if f.Wrong == "happened" || f.Wrong == "because" || f.Wrong == entryLate {
		f.Late = true
	}
}

// guide is how to do the chosen test, or the tests to choose from.
func (c shelfContext) guide(v url.Values) (*guideCard, []web.Link) {
	if test := ledger.TestKind(v.Get("test")); test != "" {
		g := c.guideTo(test)
		return &g, nil
	}
	var tests []web.Link
	for _, test := range c.testsOf(v.Get("container")) {
		q := url.Values{"test": {string(test)}, "container": {v.Get("container")}, "who": {v.Get("who")}, "next": {v.Get("next")},
			"room": {v.Get("room")}}
		tests = append(tests, web.Link{Href: "/shelf/enter/test-done?" + q.Encode(), Text: c.Word(test)})
	}
	return nil, tests
}

// testsOf are the tests that suit what a container holds; all where that is not known.
func (c shelfContext) testsOf(container string) []ledger.TestKind {
	held, known := c.book.Contents(container, c.book.At)
	return slices.DeleteFunc(ledger.TestKinds(), func(test ledger.TestKind) bool { return known && !test.Suits(held.Class) })
}

// enterPost takes one form of the shelf and leads to its receipt.
func (s *Pages) enterPost(w http.ResponseWriter, r *http.Request) {
	k, known := kindOf(r.PathValue("kind"))
	if !known {
		s.Fail(w, r, web.Failure{Status: http.StatusNotFound, Sentence: "There is no such form."})
		return
	}
	s.press(w, r, bookForm{
		read: func(c shelfContext) (cards.ShelfEntry, *web.Problem) { return c.read(k, r.PostForm) },
		again: func(c shelfContext, p *web.Problem) {
			if !s.showStep(w, r, c, k, attemptAt{r.PostForm, p}) {
				s.showEntry(w, r, c, k, attemptAt{r.PostForm, p})
			}
		},
	})
}

// bookForm is a form of the shelf: how it is read, and how it is shown again when it does not go through.
type bookForm struct {
	read  func(shelfContext) (cards.ShelfEntry, *web.Problem)
	again func(shelfContext, *web.Problem)
	// partly is set for a form of several acts: those before one that is refused stay, with a receipt and its undo.
	partly bool
}

// press carries out one form of the shelf, once however often its button is pressed.
func (s *Pages) press(w http.ResponseWriter, r *http.Request, form bookForm) {
	var done undoable
	s.Submit(w, r, web.Sent{
		Do: func(ctx context.Context) (receipt string, wrong *web.Problem) {
			receipt, done, wrong = s.enter(ctx, form)
			return receipt, wrong
		},
		Undo: func() (*web.Undo, string) { return done.undo(r) },
		More: func() *web.Link { return s.doubted(done.kept) },
		Next: func() *url.URL {
			web.Remember(w, r)
			return web.NextOf(r)
		},
		Back: func(wrong *web.Problem) { form.again(s.reads(), wrong) },
	})
}

type undoable struct {
	entry cards.ShelfEntry
	kept  cards.ShelfReceipt
}

// undo withdraws all that the press entered; stays says why it can't.
func (u undoable) undo(r *http.Request) (form *web.Undo, stays string) {
	switch u.entry.Act.(type) {
	case nil:
		return nil, "A note stays: leave another one if it was wrong."
	case ledger.Correction:
		return nil, "A correction is not undone: correct or enter it once more."
	case ledger.SessionOpened, ledger.SessionClosed:
		return nil, "To undo the start or the end of a session, open its entry on the shelf."
	}
	number := web.Plain(float64(u.kept.Number))
	says := url.Values{"version": {number}, "because": {undoneAtOnce}, web.NameField: {u.entry.Person}, "next": {web.NextOf(r).String()}}
	for _, before := range slices.Backward(u.kept.Before) {
		says.Add("also", web.Plain(float64(before)))
	}
	return &web.Undo{Action: "/shelf/entry/" + number, Says: says}, ""
}

// doubted leads from a test that failed to the prints on which it throws doubt; nil where there are none.
func (s *Pages) doubted(kept cards.ShelfReceipt) (to *web.Link) {
	b := s.Shelf.Book()
	for _, number := range append(slices.Clone(kept.Before), kept.Number) {
		if a, err := b.Affected(number); err == nil && len(a.Sessions) > 0 {
			to = &web.Link{Href: "/shelf/entry/" + web.Plain(float64(number)), Text: "Which prints are affected"}
		}
	}
	return to
}

// undoneAtOnce is the reason that the book gives for an entry that was undone from its receipt.
const undoneAtOnce = "undone from the receipt"

// enter reads a form and hands its entry to the shelf; it gives a receipt or a problem.
func (s *Pages) enter(ctx context.Context, form bookForm) (receipt string, done undoable, wrong *web.Problem) {
	f := s.reads()
	e, wrong := form.read(f)
	if wrong != nil {
		return "", done, wrong
	}
	got, err := s.Shelf.Enter(ctx, e)
	if n := len(got.Before); err != nil && n > 0 && form.partly {
		e.Act, e.Before = e.Before[n-1], e.Before[:n-1]
		got.Number, got.Before = got.Before[n-1], got.Before[:n-1]
		return f.receipt(e, got) + " Not recorded, and nothing after it: " + f.ErrorText(err), undoable{e, got}, nil
	}
	switch {
	case errors.Is(err, context.DeadlineExceeded):
		return "", done, &web.Problem{Field: "act",
			Sentence: "wetside did not answer in time. Check whether the tray has changed before you press again."}
	case errors.Is(err, cards.ErrWhyLate), errors.Is(err, ledger.ErrNotEnough):
		return "", done, &web.Problem{Field: entryLate, Sentence: f.ErrorText(err)}
	case err != nil:
		return "", done, &web.Problem{Field: "act", Sentence: f.ErrorText(err)}
	}
	return f.receipt(e, got), undoable{e, got}, nil
}

// receipt says in words what was recorded, and what is to be known beside it.
func (f figures) receipt(e cards.ShelfEntry, got cards.ShelfReceipt) string {
	text := "note saved"
	if e.Act != nil {
		var said []string
		for _, act := range append(slices.Clone(e.Before), e.Act) {
			if _, closed := act.(ledger.SessionClosed); closed { // which one is known to whoever ends it
				said = append(said, "the session has ended")
				continue
			}
			said = append(said, f.Text(act.Sentence()))
			if test, is := act.(ledger.TestDone); is && test.Failed() {
				said[len(said)-1] += " (failed)"
			}
		}
		text = strings.Join(said, ";\n")
	}
	text += "."
	if got.Late {
		text += " " + "Marked as entered late."
	}
	for _, warning := range got.Warnings {
		text += " " + fmt.Sprintf("Take care: %s.", f.Text(warning))
	}
	return text
}

// recallInto fills a form with what an entry says, so that it can be put right.
func (c shelfContext) recallInto(number uint64, v url.Values) {
	r, known := c.book.Record(number)
	if !known {
		return
	}
	data, err := ledger.EncodeAct(r.Act)
	var act map[string]any
	if err != nil || json.Unmarshal(data, &act) != nil {
		return
	}
	for name, value := range act {
		if !v.Has(name) {
			v[name] = c.typedAs(name, value)
		}
	}
	maps.Copy(v, c.typedCapacity(act["capacity"]))
	v.Set("happened", r.At.In(c.Zone).Format("2006-01-02T15:04:05"))
	v.Set("room", r.Room)
	v.Set("in_session", r.Session)
}

// typedAs writes a value of an act as a person would have typed it.
func (c shelfContext) typedAs(name string, value any) []string {
	switch value := value.(type) {
	case bool:
		if !value {
			return nil
		}
		return []string{"on"}
	case float64:
		return []string{c.typedNumber(name, value)}
	case []any:
		var all []string
		for _, v := range value {
			all = append(all, c.typedAs(name, v)...)
		}
		return all
	case map[string]any:
		if _, is := value["unit"]; is {
			return []string{c.typedAmount(value)}
		}
		parent, _ := value["parent"].(float64)
		water, _ := value["water"].(float64)
		return []string{web.Plain(parent) + "+" + web.Plain(water)}
	case string:
		if day, err := time.Parse(time.RFC3339, value); (name == "expiry" || name == "sampled") && err == nil {
			return []string{day.In(c.Zone).Format(time.DateOnly)}
		} else if name == "begins" && err == nil {
			return []string{c.TypedMoment(day)}
		}
		return []string{value}
	}
	return nil
}

func (c shelfContext) typedNumber(name string, value float64) string {
	switch {
	case strings.HasPrefix(name, "dissolved_"):
		return web.Plain(100 * value)
	case strings.HasSuffix(name, "_ml"):
		return c.TypedVolume(quantity.Millilitre(value))
	case strings.HasSuffix(name, "_c"):
		return c.Temperature(quantity.Celsius(value)) + " " + c.Unit(quantity.Temperature).Symbol()
	case name == "sheet_m2":
		for _, s := range cards.CommonSheets() {
			if d := value/float64(s.Area) - 1; d < 1e-6 && d > -1e-6 {
				if s.Name == chem.FilmRoll().Name {
					return cards.RollSize
				}
				return s.Name
			}
		}
	}
	return web.Plain(value)
}
