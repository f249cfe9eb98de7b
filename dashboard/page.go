package dashboard

import (
	"bytes"
	"cmp"
	"html/template"
	"net/http"
	"strconv"

	"go.uber.org/zap"

	"wetside/rules/access"
)

// page is what every page shares.
type page struct {
	Title     string
	Look      look
	Colour    template.CSS
	Version   string
	Simulated bool
	// Room is the room's identity, empty where there is none; Here is the page's own name.
	Room, RoomName, Here string
	Menus                []menu
	Styles, Scripts      []string
	// Stay is what the address of this page says besides the look, encoded.
	Stay template.URL
	// Stream is the address of live changes, empty for a page that stands still.
	Stream string
	// Refresh is after how many seconds a browser without script loads again; zero: never.
	Refresh int
	// Screen says what is known of the screen that a red page is shown on.
	Screen screenState
	// Caller is whoever signed in, or who may do so.
	Caller caller
	Body   any
}

// caller is what a page says of whoever looks at it.
type caller struct {
	Name, Role string
	// Keeps is set for whoever may open the page of people, MaySignIn for whoever has
	// not signed in where people do.
	Keeps, MaySignIn bool
}

func (s *kit) callerOf(r *http.Request) caller {
	who, known := access.From(r.Context())
	if !known {
		return caller{MaySignIn: s.Accounts != nil}
	}
	return caller{Name: who.Name, Role: s.words.Say("role." + string(who.Role)), Keeps: who.Role.Covers(access.Keeper)}
}

// link leads to another page.
type link struct {
	Href, Text string
	Current    bool
}

// pageFor fills in what every page of a room shares.
func (s *kit) pageFor(here string, l look, in visit) page {
	p := page{Look: l, Colour: s.assets.colour[l], Version: s.assets.version, Here: here, Styles: stylesOf(here, l)}
	if in.site != nil {
		p.Simulated, p.Menus = in.site.Simulated, s.menus(here, l, in)
	}
	if in.snap == nil {
		p.Title = s.words.Say("title." + here)
		return p
	}
	p.Room, p.RoomName = in.snap.Room, in.snap.Name
	p.Title = s.words.Say("title."+here) + " · " + in.snap.Name
	return p
}

// placePage is a page that belongs to no room. Where there is one room alone, it
// stands among the pages of that room.
func (s *kit) placePage(r *http.Request, here, style string) page {
	site, l := s.View.Now(), lookOf(r)
	in := visit{site: site}
	if len(site.Rooms) == 1 {
		in.snap = site.Rooms[0]
	}
	p := s.pageFor(here, l, in)
	p.Styles = append(p.Styles, style)
	return p
}

// stylesOf names the style sheets of a page: the board and what is like it have one of their own.
func stylesOf(here string, l look) []string {
	switch here {
	case "board", "index", "error":
		return []string{"board.css"}
	}
	return []string{"look-" + string(l) + ".css", "pages.css"}
}

// lookOf is the look that a page was asked for; the red one is kept from page to page.
func lookOf(r *http.Request) look {
	if valueOf(r, "look") == string(red) {
		return red
	}
	return day
}

// valueOf is what the form of a request says, or else its address.
func valueOf(r *http.Request, name string) string {
	return cmp.Or(r.PostForm.Get(name), r.URL.Query().Get(name))
}

// show draws a page as a whole before the first byte is sent, so that a page
// is never cut in half by its own mistake.
func (s *kit) show(w http.ResponseWriter, r *http.Request, status int, p page) {
	p.Caller = s.callerOf(r)
	var out bytes.Buffer
	if err := s.templates.ExecuteTemplate(&out, p.Here, p); err != nil {
		s.Log.Error("a page failed", zap.String("path", r.URL.Path), zap.Error(err))
		s.fail(w, r, failure{http.StatusInternalServerError, s.words.Say("error.page")})
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

// failure is an answer that is none: its status and one sentence for a person.
type failure struct {
	status   int
	sentence string
}

// fail answers with a page that is always red: an error must not light a dark room.
func (s *kit) fail(w http.ResponseWriter, r *http.Request, f failure) {
	site := s.View.Now()
	p := s.pageFor("error", red, visit{site: site})
	p.Body = f.sentence
	var out bytes.Buffer
	if err := s.templates.ExecuteTemplate(&out, "error", p); err != nil {
		s.Log.Error("the error page failed", zap.String("path", r.URL.Path), zap.Error(err))
		http.Error(w, f.sentence, f.status)
		return
	}
	send(w, f.status, out.Bytes())
}
