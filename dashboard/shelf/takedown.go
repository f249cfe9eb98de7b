package shelf

import (
	"fmt"
	"math"
	"net/http"
	"net/url"
	"slices"
	"strings"

	"wetside/chem/ledger"
	"wetside/dashboard/cards"
	"wetside/dashboard/web"
	"wetside/sensors/quantity/phrase"
)

type takeDownBody struct {
	guided
	Session  string
	Item     *takeDownItem
	Balances []balanceLine
	Figures  *takeDownFigures
	Waste    []wasteLine
	Quick    []string // trays with an entry of an older book, which the shelf does not know
	Note     *closing
	Left     *noteBody
	Filled   bool // a tray of the room
	Seers    []cards.SeerCard
}

// takeDownItem is one vessel to see to.
type takeDownItem struct {
	Name, Content, Action, Because string
	How, Cautions                  []string
	Silver                         bool
	Load                           string // of silver, estimated; empty when nothing was fixed in it
	Ways                           []way
}

// balanceLine is what became of the liquid of one class.
type balanceLine struct {
	Class, In, Returned, Discarded, Left string
	CarryOver, Evaporation, Unexplained  string
	Doubt                                bool
}

// closing asks for the list of the place and for the note to the next volunteer.
type closing struct {
	Text string
	List *closingStep
}

// What the buttons under the list send: it is signed, or the note says what is left.
const (
	listDone    = "all done"
	listNotDone = "not done"
)

// noteworthy is the unexplained share from which a balance is marked (common practice).
const noteworthy = 0.10

func (s *Pages) takeDownPage(w http.ResponseWriter, r *http.Request, in web.Visit) {
	s.showTakeDown(w, r, in, s.reads(), attemptAt{values: web.WithName(r, r.URL.Query())})
}

func (s *Pages) showTakeDown(w http.ResponseWriter, r *http.Request, in web.Visit, c shelfContext, a attemptAt) {
	p, status := s.takeDown(r, in, c, a)
	s.Show(w, r, status, p)
}

func (s *Pages) takeDown(r *http.Request, in web.Visit, c shelfContext, a attemptAt) (web.Page, int) {
	g, status := s.stepPage(r, in, a)
	body := takeDownBody{guided: g, Seers: c.cards().SeerCards(s.Kit, r, in.Snap, r.URL.Path)}
	takeDownPart{c}.takeDown(&body, in.Snap.Room, a.values)
	for _, b := range in.Snap.Baths {
		body.Filled = body.Filled || b.Portion != nil
		if b.Portion != nil && b.Portion.Known == nil {
			body.Quick = append(body.Quick, b.Bath.Name)
		}
	}
	p := s.PageFor(web.Head{Name: "take-down", Title: "Take-down"}, body.Look, in)
	p.At, p.Stay = "/rooms/"+in.Snap.Room+"/take-down", stays(a.values, "who")
	return p.With(body, "shelf.css"), status
}

// takeDownPart is what a take-down asks of each tray.
type takeDownPart struct{ shelfContext }

func (c takeDownPart) takeDown(body *takeDownBody, room string, v url.Values) {
	if left, ok := c.book.Left[room]; ok {
		body.Left = &noteBody{left.By, c.Brief(left.At), left.Lines}
	}
	session, open := c.cards().OpenSession(room)
	if !open {
		return
	}
	body.Session = session.Title
	v.Set("in_session", session.ID)
	plan, err := c.book.TakeDown(session.ID, c.book.At, c.book.Assumptions().Inputs())
	if err != nil {
		return
	}
	place := func(i ledger.TakeDownItem) int {
		return slices.IndexFunc(c.book.Trays, func(t cards.ShelfTray) bool { return t.Bath == i.Contents.Bath })
	}
	slices.SortStableFunc(plan.Items, func(a, b ledger.TakeDownItem) int { return place(a) - place(b) })
	for _, item := range plan.Items {
		if t, mine := c.trayIn(room, item.Contents.Bath); mine {
			body.Steps = append(body.Steps, step{Text: item.Contents.Container, Note: c.Word(item.Action), Current: body.Item == nil})
			if body.Item == nil {
				body.Item = c.takeDownItem(item, t, v)
			}
		}
	}
	for _, b := range plan.Balances {
		body.Balances = append(body.Balances, c.balance(b))
	}
	body.Figures = c.takeDownFigures(plan, "/rooms/"+room+"/take-down")
	for _, level := range plan.Waste {
		body.Waste = append(body.Waste, c.waste(level))
	}
	body.Steps = append(body.Steps, step{Text: "Note for the next volunteer", Current: body.Item == nil})
	if body.Item == nil {
		body.Note = &closing{Text: c.Lines(plan.Note), List: c.closing(ledger.AfterTakeDown, "/rooms/"+room+"/take-down")}
		if v.Has("note") {
			body.Note.Text = v.Get("note")
		}
	}
}

func (c takeDownPart) trayIn(room, bath string) (cards.ShelfTray, bool) {
	at := slices.IndexFunc(c.book.Trays, func(t cards.ShelfTray) bool { return t.Bath == bath && t.Room == room })
	if at < 0 {
		return cards.ShelfTray{}, false
	}
	return c.book.Trays[at], true
}

// takeDownItem offers what is usual first, and the other two beside it.
func (c takeDownPart) takeDownItem(item ledger.TakeDownItem, t cards.ShelfTray, v url.Values) *takeDownItem {
	id := item.Contents.Container
	out := &takeDownItem{Name: id, Content: c.contents(item.Contents), Action: phrase.Capital(c.Word(item.Action)),
		Because: c.Text(item.Because), How: c.Texts(item.How),
		Cautions: c.Texts(item.Cautions), Silver: item.Contents.SilverBearing}
	out.Load = c.silverEstimate(item.Contents)
	at := stepOf{tray: t, asked: v, next: "/rooms/" + t.Room + "/take-down?" + url.Values{"who": v["who"]}.Encode()}
	back, waste := c.returnWay(item, at), c.discardWay(item, at)
	switch item.Action {
	case ledger.DiscardIt:
		back.Title += " all the same"
		out.Ways = []way{waste, back}
	case ledger.TestIt:
		test := way{Title: "Test it first", Test: c.pictured(id, at, "passed: it may go back to storage", "spent: discard it")}
		if test.Test == nil {
			test.Links = []web.Link{{Href: c.stepHref("test-done", url.Values{"container": {id}}, at), Text: "Test"}}
		}
		out.Ways = []way{test, back, waste}
	default:
		out.Ways = []way{back, waste}
	}
	out.Ways[0].Open = true
	c.refused.into(out.Ways)
	return out
}

// returnWay pours a bath back into its bottle, or into one that is new.
func (c takeDownPart) returnWay(item ledger.TakeDownItem, at stepOf) way {
	at.button = "I poured it back"
	values := url.Values{"from": {item.Contents.Container}, "to": {item.Home}, "emptied": {"on"},
		"volume_ml": {c.TypedVolume(item.Contents.Volume)}}
	form := c.stepForm("returned", values, at, "to", "volume_ml")
	form.only("to", func(id string) bool { return slices.Contains(item.Stores, id) })
	vessel := c.newVessel(at.asked)
	vessel.Label = "Or a new bottle: its name"
	form.Fields = append(form.Fields, vessel, c.newCapacity(at.asked))
	return way{Title: "Back to storage", Form: form}
}

func (c takeDownPart) discardWay(item ledger.TakeDownItem, at stepOf) way {
	at.button = "I discarded it"
	values := url.Values{"container": {item.Contents.Container}, "emptied": {"on"}, "reason": {"end of the session"},
		"volume_ml": {c.TypedVolume(item.Contents.Volume)}}
	shown := []string{"volume_ml", "to"}
	if item.Action == ledger.DiscardIt && item.To != "" {
		values.Set("to", item.To)
	} else {
		values.Set("route", item.Route)
		shown = append(shown, "route")
	}
	form := c.stepForm("discarded", values, at, shown...)
	if len(c.options(fromWaste, values)) == 0 {
		form.Fields = slices.DeleteFunc(form.Fields, func(f drawnField) bool { return f.Name == "to" })
		form.field("route").Label = "Where it goes"
	}
	return way{Title: "Discard", Form: form}
}

// balance leaves what is unexplained open while something stands in a tray: how much
// of it is left is known once it is measured.
func (c takeDownPart) balance(b ledger.Balance) balanceLine {
	line := balanceLine{Class: c.Word(b.Class), In: c.Volume(b.Mixed + b.Brought), Returned: c.Volume(b.Returned),
		Discarded: c.Volume(b.Discarded),
		Left:      c.Volume(b.Left), CarryOver: c.Volume(b.CarryOver), Evaporation: c.Volume(b.Evaporation),
		Unexplained: "not measured yet"}
	if b.Left == 0 {
		share := b.UnexplainedShare()
		line.Unexplained = fmt.Sprintf("%s (%d %%)", c.Volume(b.Unexplained), int(math.Round(100*share)))
		line.Doubt = math.Abs(share) >= noteworthy
	}
	return line
}

// takeDownPost ends the session and leaves the note, both or neither.
func (s *Pages) takeDownPost(w http.ResponseWriter, r *http.Request, in web.Visit) {
	s.press(w, r, bookForm{
		read: func(c shelfContext) (cards.ShelfEntry, *web.Problem) {
			reader := c.reader(r.PostForm)
			e := reader.takeDown(in.Snap.Room)
			r.PostForm.Set("next", r.URL.Path)
			return e, reader.form.Problem
		},
		again: func(c shelfContext, p *web.Problem) { s.showTakeDown(w, r, in, c, attemptAt{r.PostForm, p}) },
	})
}

// mostLines and longestLine bound a note to the next volunteer.
const (
	mostLines   = 12
	longestLine = 400
)

func (r *entryReader) takeDown(room string) cards.ShelfEntry {
	e := cards.ShelfEntry{Room: room, Person: r.form.Who(), Note: &ledger.RoomNote{Kind: ledger.NoteLeft}}
	for line := range strings.Lines(r.values.Get("note")) {
		line = strings.Join(strings.Fields(line), " ")
		switch {
		case line == "":
		case strings.ContainsFunc(line, web.Unshowable) || len(line) > longestLine:
			r.form.Fail("note", "%q can't be saved: a line has at most %d characters, and only characters that can be displayed.", web.Clip(line),
				longestLine)
		default:
			e.Note.Lines = append(e.Note.Lines, line)
		}
	}
	if len(e.Note.Lines) == 0 || len(e.Note.Lines) > mostLines {
		r.form.Fail("note", "A note has one to %d lines.", mostLines)
	}
	if session, open := r.cards().OpenSession(room); open {
		e.Act = ledger.SessionClosed{Session: session.ID}
		switch r.values.Get("list") {
		case listDone:
			e.Before = []ledger.Act{r.signed(ledger.AfterTakeDown)}
		case listNotDone:
		default: // the key Enter ends no session
			r.form.Fail("list", "Press the button that says whether everything on the list is done.")
		}
	}
	return e
}
