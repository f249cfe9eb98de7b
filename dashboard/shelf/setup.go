package shelf

import (
	"cmp"
	"fmt"
	"html/template"
	"maps"
	"net/http"
	"net/url"
	"slices"
	"strings"
	"time"

	"wetside/chem/ledger"
	"wetside/dashboard/cards"
	"wetside/dashboard/web"
	"wetside/rules"
	"wetside/rules/session"
	"wetside/rules/ventilation"
	"wetside/sensors/quantity"
)

// setUpBody is one step of a set-up. Which step it is follows from what is on
// record, so that anybody can go on where somebody else stopped.
type setUpBody struct {
	guided
	Begin      *beginBody
	Forgotten  string // a session that was not taken down
	Air        *airStep
	Airing     string // what is still to come before trays are uncovered, as the board says it
	AsLast     *asLast
	Fill       string
	Skip       []string
	Bath       *bathStep
	PutAway    *closingStep
	Done, More bool // More says that a tray was passed over
	OneByOne   bool // the step is open beside the way of last time
}

// guided is a page that leads through the work step by step.
type guided struct {
	Look         web.Look
	Room, Who    string
	Problem      string
	Token, Wrong string // of the form that the page itself has
	Steps        []step
}

// stepPage begins such a page, with what was typed before if that came back.
func (s *Pages) stepPage(r *http.Request, in web.Visit, a attemptAt) (guided, int) {
	g := guided{Look: web.LookOf(r), Room: in.Snap.Room, Who: a.values.Get("who"), Token: web.NewToken()}
	if a.problem == nil {
		return g, http.StatusOK
	}
	g.Problem, g.Token, g.Wrong = a.problem.Sentence, a.values.Get("token"), a.problem.Field
	return g, http.StatusUnprocessableEntity
}

// step is one line of the list that says how far a set-up has come.
type step struct {
	Text, Note    string
	Done, Current bool
}

// beginBody asks for a name and for the room as it was found.
type beginBody struct {
	Title, Words string
	Kind         string
	Class, One   string // how much goes into a tray
	Left         *noteBody
	Enough       []enoughList
}

// closingStep is a list of the place that is signed in one press.
type closingStep struct {
	Lines []string
	Write string // where the place writes its own
}

type noteBody struct {
	By, When string
	Lines    []string
}

// airStep says how the air is, until it is proven or somebody goes on without.
type airStep struct {
	cards.AirCard
	Reason string
}

type bathStep struct {
	Name      string
	Lead      string // where nothing stands ready
	Cautions  []string
	Held      string // what is in the tray already, where that is not enough
	Pitcher   string // the one that is kept for this chemical
	Ways      []way
	Otherwise []way // after the cautions, when there is a better way
	Skip      string
}

// way is one way to fill a tray: the best comes first and is open.
type way struct {
	Title, Lead string
	Note        string // how long its bottle keeps
	Answer      *cards.AnswerLine
	Big         []cards.Numeral
	Test        *picturedTest
	Drawing     *mixDrawing
	Form        *entryForm
	Then        *entryForm // what is done once the test is passed
	Ask         *asking
	Amount      *asking // how much is mixed, where it is not what was suggested
	Links       []web.Link
	Open        bool
	From        bottle              // of concentrate, where it is mixed
	Draws       quantity.Millilitre // from the bottle
	Part        bool                // fills the tray only in part
	Spent       bool                // it is to be discarded
}

// The two volumes of common practice: 64 US fl oz for a class, 48 for one person.
const (
	classFill  = "class"
	singleFill = "one person"
)

// longestSession is how long after its beginning a session was surely forgotten (a choice of this program).
const longestSession = 12 * time.Hour

// foundWell and foundWrong are how a room can be found.
const (
	foundWell  = "as it should be"
	foundWrong = "not as it should be"
)

// acceptedAir begins the state of the air in a note of somebody who went on without proof.
const acceptedAir = "accepted: "

func (s *Pages) setUpPage(w http.ResponseWriter, r *http.Request, in web.Visit) {
	s.showSetUp(w, r, in, s.reads(), attemptAt{values: web.WithName(r, r.URL.Query())})
}

func (s *Pages) showSetUp(w http.ResponseWriter, r *http.Request, in web.Visit, c shelfContext, a attemptAt) {
	p, status := s.setUp(r, in, c, a)
	s.Show(w, r, status, p)
}

func (s *Pages) setUp(r *http.Request, in web.Visit, c shelfContext, a attemptAt) (web.Page, int) {
	g, status := s.stepPage(r, in, a)
	body := setUpBody{guided: g}
	setUpPart{c}.setUp(&body, in.Snap, a.values)
	p := s.PageFor(web.Head{Name: "set-up", Title: "Set-up"}, body.Look, in)
	p.At, p.Stay = "/rooms/"+in.Snap.Room+"/set-up", stays(a.values, "who", "fill", "skip", "dilution", "parts", "for", "amount", "more")
	return p.With(body, "shelf.css"), status
}

// stays is what the address of a step says, kept when the look is changed.
func stays(v url.Values, names ...string) template.URL {
	kept := url.Values{}
	for _, name := range names {
		if v.Get(name) != "" {
			kept[name] = v[name]
		}
	}
	return template.URL(kept.Encode()) //nolint:gosec // it is encoded
}

// setUpPart is what a set-up asks, one thing at a time.
type setUpPart struct{ shelfContext }

// setUp finds the step that is next.
func (c setUpPart) setUp(body *setUpBody, snap *rules.Snapshot, v url.Values) {
	session, begun := c.cards().OpenSession(snap.Room)
	if begun && v.Get("fill") == "" {
		v.Set("fill", c.book.Found[snap.Room].Fill)
	}
	body.Steps = append(body.Steps, step{Text: "Room as found", Done: begun, Current: !begun})
	airDone := begun && (snap.Air.State == ventilation.Moving || c.airAccepted(snap.Room, session))
	body.Steps = append(body.Steps, step{Text: "Air first", Done: airDone, Current: begun && !airDone,
		Note: c.Word(snap.Air.State)})
	putAway := begun && c.book.ClosingSigned(ledger.AfterSetUp, session.ID)
	next := c.bathSteps(body, snap, v, airDone && (!putAway || v.Has("more")))
	body.Steps = append(body.Steps, step{Text: "Put away", Done: putAway, Current: airDone && next == nil && !putAway})
	switch {
	case !begun:
		body.Begin = c.begin(snap.Room, v)
	case !v.Has("more") && (takenDown(snap) || c.book.At.Sub(session.Opened) > longestSession):
		body.Steps, body.Forgotten = nil, fmt.Sprintf("%s has been open since %s. Take its trays down and sign it off: then the set-up of the "+
			"next session begins.", session.Title, c.Brief(session.Opened))
	case !airDone:
		body.Air = &airStep{c.AirCard(snap.Air, false), v.Get("reason")}
	case putAway && !v.Has("more"):
		body.Done, body.More = true, next != nil
	case next != nil:
		v.Set("in_session", session.ID)
		body.Fill, body.Skip = v.Get("fill"), v["skip"]
		if p := snap.Purge; p != nil && !p.After && !p.Done {
			body.Airing = c.Text(p.Sentence)
		}
		body.Bath = filling{c.shelfContext, *next, v}.bathStep()
		if _, _, wrong := c.repair(*next); !wrong { // first things first
			body.AsLast = c.asLast(snap.Room, v)
		}
		c.refused.into(body.Bath.Ways)
		c.refused.into(body.Bath.Otherwise)
		body.OneByOne = c.refused.here() || v.Get("for") == next.Bath
	case !putAway:
		body.PutAway = c.closing(ledger.AfterSetUp, filling{c.shelfContext, cards.ShelfTray{Room: snap.Room}, v}.here())
	default:
		body.Done = true
	}
}

// takenDown says whether every tray was emptied again.
func takenDown(snap *rules.Snapshot) bool {
	return snap.Session.Phase == session.TakeDown && !slices.ContainsFunc(snap.Baths, func(b rules.BathView) bool { return b.Portion != nil })
}

// closing shows a list of the place.
func (c shelfContext) closing(list ledger.ClosingList, next string) *closingStep {
	q := url.Values{"list": {string(list)}, "next": {next}}
	return &closingStep{Lines: c.book.Closing(list), Write: "/shelf/enter/closing-list-written?" + q.Encode()}
}

func (c setUpPart) airAccepted(room string, session ledger.Session) bool {
	note, ok := c.book.Found[room]
	return ok && strings.HasPrefix(note.Air, acceptedAir) && !note.At.Before(session.Opened)
}

// bathSteps lists the baths of the room in pouring order and gives the first that is
// neither filled nor passed over.
func (c setUpPart) bathSteps(body *setUpBody, snap *rules.Snapshot, v url.Values, ready bool) (next *cards.ShelfTray) {
	for _, t := range c.traysOf(snap.Room) {
		at := slices.IndexFunc(snap.Baths, func(b rules.BathView) bool { return b.Bath.ID == t.Bath })
		line := step{Text: t.Name, Done: at >= 0 && snap.Baths[at].Portion != nil}
		if held, ok := c.book.InTray(t.Bath, c.book.At); ok {
			line.Done, line.Note = held.Volume >= ledger.FullEnough*c.fillOf(t, v.Get("fill")), c.Volume(held.Volume)
			if _, _, wrong := c.repair(t); wrong {
				line.Done, line.Note = false, "not mixed as meant"
			}
		}
		if slices.Contains(v["skip"], t.Bath) {
			if line.Done = true; line.Note == "" {
				line.Note = "skipped"
			}
		}
		if !line.Done && next == nil {
			next = &t
			line.Current = ready
		}
		body.Steps = append(body.Steps, line)
	}
	return next
}

func (c setUpPart) begin(room string, v url.Values) *beginBody {
	b := &beginBody{Title: cmp.Or(v.Get("title"), c.Now.Wall.In(c.Zone).Format("Mon 2 Jan")), Words: v.Get("words"),
		Kind: cmp.Or(v.Get("fill"), classFill), Class: c.Volume(c.trayFill(classFill)), One: c.Volume(c.trayFill(singleFill))}
	b.Enough = c.enough(room, classFill, singleFill)
	if left, ok := c.book.Left[room]; ok {
		b.Left = &noteBody{left.By, c.Brief(left.At), left.Lines}
	}
	return b
}

// trayFill is how much goes into a tray: in US units 64 fl oz for a class and 48 for
// one person (common practice in teaching rooms), elsewhere the round volume beside it.
func (c shelfContext) trayFill(kind string) quantity.Millilitre {
	u := c.Unit(web.VolumeDimension)
	us := u.Symbol() == "floz" || u.Symbol() == "gal"
	ounce, err := quantity.ParseMillilitre("1 floz")
	switch {
	case us && err == nil && kind == singleFill:
		return 48 * ounce
	case us && err == nil:
		return 64 * ounce
	case kind == singleFill:
		return 1500
	}
	return 2000
}

// setUpPost begins a set-up, or goes on without proven air.
func (s *Pages) setUpPost(w http.ResponseWriter, r *http.Request, in web.Visit) {
	s.press(w, r, bookForm{partly: r.PostForm.Get("act") == asLastTime,
		read: func(c shelfContext) (cards.ShelfEntry, *web.Problem) {
			reader, skip := c.reader(r.PostForm), r.PostForm["skip"]
			e := reader.setUp(in.Snap)
			if r.PostForm.Get("act") == asLastTime {
				skip = setUpPart{c}.afterLast(in.Snap.Room, skip)
			}
			r.PostForm.Set("next", r.URL.Path+"?"+url.Values{"who": {e.Person}, "fill": r.PostForm["fill"], "skip": skip}.Encode())
			return e, reader.form.Problem
		},
		again: func(c shelfContext, p *web.Problem) {
			typed := r.URL.Query() // which trays were skipped
			maps.Copy(typed, r.PostForm)
			s.showSetUp(w, r, in, c, attemptAt{typed, p})
		},
	})
}

// signed reads the signature under a list of the place, as the page showed it.
func (r *entryReader) signed(list ledger.ClosingList) ledger.ClosingListSigned {
	signed := ledger.ClosingListSigned{List: list, Lines: r.values["line"]}
	if !slices.Equal(signed.Lines, r.book.Closing(list)) {
		r.form.Fail("line", "The list has changed since this page was shown. Read it again and then sign it.")
	}
	return signed
}

func (r *entryReader) setUp(snap *rules.Snapshot) cards.ShelfEntry {
	if r.values.Get("act") == asLastTime {
		return r.asLast(snap)
	}
	e := cards.ShelfEntry{Room: snap.Room, Person: r.form.Who()}
	e.Note = &ledger.RoomNote{Kind: ledger.RoomFound, Air: string(snap.Air.State), Fill: fillOf(r.values.Get("fill"))}
	if r.values.Get("act") == "put-away" {
		e.Note, e.Act = nil, r.signed(ledger.AfterSetUp)
		return e
	}
	if r.values.Get("act") == "air" {
		e.Note.Fill = r.book.Found[snap.Room].Fill
		e.Note.Air = acceptedAir + string(snap.Air.State)
		e.Note.Lines = []string{r.text("reason", "Reason", true)}
		return e
	}
	found, words := r.values.Get("found"), r.text("words", "Notes", r.values.Get("found") == foundWrong)
	if found != foundWell && found != foundWrong {
		r.form.Fail("found", "Say how you found the room.")
	}
	e.Note.Lines = []string{found}
	if words != "" {
		e.Note.Lines = append(e.Note.Lines, words)
	}
	title := r.text("title", "Name of the session", true)
	e.Act = ledger.SessionOpened{Session: r.freeName(snap.Room + " session"), Title: title, Lead: e.Person}
	return e
}

// fillOf is for whom trays are filled: a class where nothing else is said.
func fillOf(kind string) string {
	if kind == singleFill {
		return singleFill
	}
	return classFill
}
