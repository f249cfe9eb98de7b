package web

import (
	"bytes"
	"cmp"
	"html/template"
	"net/http"
	"slices"
	"strconv"

	"go.uber.org/zap"

	"wetside/rules/access"
)

// Page is what every page shares.
type Page struct {
	Title string
	Look  Look
	// Front is what the first page is called.
	Front     string
	Colour    template.CSS
	Version   string
	Simulated bool
	// Room is the room's identity, empty where there is none; Here is the page's own name.
	Room, RoomName, Here string
	Menus                []menu
	Styles, Scripts      []string
	// At is the path of this page where a form of another address is answered with it; else empty.
	At string
	// Stay is what the address of this page says besides the look, encoded.
	Stay template.URL
	// Stream is the address of live changes, empty for a page that stands still.
	Stream string
	// Refresh is after how many seconds a browser without script loads again; zero: never.
	Refresh int
	// Screen says what is known of the screen that a red page is shown on.
	Screen ScreenState
	// Caller is whoever signed in, or who may do so.
	Caller caller
	// Names are offered as buttons beside each field for a name; none where people sign in.
	Names []string
	// Receipt is of the form to which the page is the answer.
	Receipt Receipt
	Body    any
}

// caller is what a page says of whoever looks at it.
type caller struct {
	Name, Role string
	// Keeps is set for whoever may open the page of people, MaySignIn for whoever has
	// not signed in where people do.
	Keeps, MaySignIn bool
}

func (s *Kit) callerOf(r *http.Request) caller {
	who, known := access.From(r.Context())
	if !known {
		return caller{MaySignIn: s.Accounts != nil}
	}
	return caller{Name: who.Name, Role: string(who.Role), Keeps: who.Role.Covers(access.Keeper)}
}

// Link leads to another page.
type Link struct {
	Href, Text string
	Current    bool
}

// Head is what a page is called: the name of its template, and its title.
type Head struct{ Name, Title string }

// PageFor fills in what every page of a room shares.
func (s *Kit) PageFor(head Head, l Look, in Visit) Page {
	p := Page{Look: l, Front: cmp.Or(s.Front, "board"), Colour: s.assets.colour[l], Version: s.assets.version, Here: head.Name,
		Title:  head.Title,
		Styles: stylesOf(head.Name, l)}
	if in.Site != nil {
		p.Simulated, p.Menus = in.Site.Simulated, s.menus(head.Name, l, in)
	}
	if in.Snap == nil {
		return p
	}
	p.Room, p.RoomName = in.Snap.Room, in.Snap.Name
	p.Title += " · " + in.Snap.Name
	return p
}

// PlacePage is a page that belongs to no room. Where there is one room alone, it
// stands among the pages of that room.
func (s *Kit) PlacePage(r *http.Request, head Head, style string) Page {
	site, l := s.View.Now(), LookOf(r)
	in := VisitOf(r, site, nil)
	if len(site.Rooms) == 1 {
		in.Snap = site.Rooms[0]
	}
	p := s.PageFor(head, l, in)
	p.Styles = append(p.Styles, style)
	return p
}

// With is the page with what stands on it, and the style sheets that this needs.
func (p Page) With(body any, styles ...string) Page {
	p.Body, p.Styles = body, append(p.Styles, styles...)
	return p
}

// StatusOf is that of a page that says what is wrong with a form, or nothing.
func StatusOf(problem string) int {
	if problem != "" {
		return http.StatusUnprocessableEntity
	}
	return http.StatusOK
}

// stylesOf names the style sheets of a page: the board and what is like it have one of their own.
func stylesOf(here string, l Look) []string {
	switch here {
	case "board", "index", "error":
		return []string{"board.css"}
	}
	return []string{"look-" + string(l) + ".css", "pages.css"}
}

// Answerers are the people that a page offers by name as those who did something, and whether
// whoever looks at the page may answer at all.
func (s *Kit) Answerers(r *http.Request) (names []string, may bool) {
	if s.Options.Names != nil {
		names = s.Options.Names()
	}
	who, known := access.From(r.Context())
	switch {
	case s.Accounts == nil:
		return names, true
	case !known || !who.Role.Covers(access.Volunteer):
		return nil, false
	case slices.Contains(names, who.Name):
		return names, true
	}
	return append([]string{who.Name}, names...), true
}

// LookOf is the look that a page was asked for, else the one that the device keeps.
func LookOf(r *http.Request) Look { return cmp.Or(chosenLook(r), keptLook(r), Day) }

// valueOf is what the form of a request says, or else its address.
func valueOf(r *http.Request, name string) string {
	return cmp.Or(r.PostForm.Get(name), r.URL.Query().Get(name))
}

// Show draws a page as a whole before the first byte is sent, so that a page
// is never cut in half by its own mistake.
func (s *Kit) Show(w http.ResponseWriter, r *http.Request, status int, p Page) {
	p.Caller = s.callerOf(r)
	p.Receipt = s.receiptFor(r)
	s.keepLook(w, r, p)
	if s.Options.Names != nil && s.Accounts == nil {
		p.Names = s.Options.Names()
	}
	var out bytes.Buffer
	if err := s.templates.ExecuteTemplate(&out, p.Here, p); err != nil {
		s.Log.Error("a page failed", zap.String("path", r.URL.Path), zap.Error(err))
		s.Fail(w, r, Failure{http.StatusInternalServerError, NotDrawn})
		return
	}
	send(w, status, out.Bytes())
}

func send(w http.ResponseWriter, status int, body []byte) {
	w.Header().Set("Content-Type", "text/html; charset=utf-8")
	w.Header().Set("Content-Length", strconv.Itoa(len(body)))
	w.WriteHeader(status)
	_, _ = w.Write(body) // the reader went away: nobody to tell
}

// Failure is an answer that is none: its status and one sentence for a person.
type Failure struct {
	Status   int
	Sentence string
}

// Fail answers with a page that is always red: an error must not light a dark room.
func (s *Kit) Fail(w http.ResponseWriter, r *http.Request, f Failure) {
	site := s.View.Now()
	p := s.PageFor(Head{"error", "Page not available"}, Red, Visit{Site: site})
	p.Body = f.Sentence
	var out bytes.Buffer
	if err := s.templates.ExecuteTemplate(&out, "error", p); err != nil {
		s.Log.Error("the error page failed", zap.String("path", r.URL.Path), zap.Error(err))
		http.Error(w, f.Sentence, f.Status)
		return
	}
	send(w, f.Status, out.Bytes())
}

// ScreenState is what the red page says of the screen it is shown on.
type ScreenState struct {
	// Name is the one under which the screen was tested; Tested is set where the test is on record.
	Name   string
	Tested bool
	// Href leads to the test; empty where no tests are kept.
	Href, Text string
	Shape      string // the drawing beside the words
}
