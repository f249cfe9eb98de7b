package class

import (
	"context"
	"net/http"
	"net/url"
	"strconv"

	"wetside/chem"
	"wetside/chem/ledger"
	"wetside/dashboard/cards"
	"wetside/dashboard/web"
	"wetside/rules"
)

// useBody is what the page of baths offers while trays are filled from the shelf:
// sheets used in one press, the emergence time, the time to announce.
type useBody struct {
	Look       web.Look
	Room       string
	Who, Token string
	Trays      []string
	Sizes      []web.Choice
	Materials  []web.Choice
	Session    string
	Next       string
	Developers []developerUse
	Lasting    map[string]*cards.LastingLine // by bath
	of         map[string]trayUse            // by bath
}

type developerUse struct {
	Bath, Name, Time, Told, Seconds, Token string
	Announce                               bool
	Emergence, Fresh, Right                string // addresses of the forms
	Factors                                []string
	// Container of the book that the developer stands in, and the press of its test.
	Container, EmergenceToken string
	First                     bool // nothing has gone through it: the first time is the baseline
}

// use gives what can be entered of the baths of a room; nil where the place keeps no shelf.
func (s *Pages) use(in web.Visit, l web.Look) *useBody {
	if s.Shelf == nil {
		return nil
	}
	body := &useBody{Look: l, Room: in.Snap.Room, Token: web.NewToken(), Next: "/rooms/" + in.Snap.Room + "/baths",
		Lasting: map[string]*cards.LastingLine{}, of: map[string]trayUse{}}
	c := s.book(s.figures(in.Site))
	booked := c.Booked(in)
	for _, t := range c.Book.Trays {
		if t.Room != in.Snap.Room {
			continue
		}
		body.of[t.Bath] = c.trayUse(t, bathOf(in.Snap, t.Bath))
		if held, ok := c.Book.InTray(t.Bath, c.Book.At); ok {
			body.Trays = append(body.Trays, held.Container)
			body.Lasting[t.Bath] = c.Lasting(t, booked)
		}
	}
	body.Sizes, body.Materials = c.Sizes(), marked(c.Materials(), string(s.material(in.Snap.Room)))
	open, _ := c.OpenSession(in.Snap.Room)
	body.Session = open.ID
	for _, view := range in.Snap.Baths {
		if view.Bath.Role == rules.Developer && view.Portion != nil {
			body.Developers = append(body.Developers, c.developer(view, body.Next))
		}
	}
	return body
}

// material is that of the sheets that the timers count, which whoever enters sheets need not say again.
func (s *Pages) material(room string) ledger.Material {
	if s.Timers != nil && paperName(s.Timers.Timers(room).Paper) == paperName(chem.FibreDoubleWeight) {
		return ledger.FibreBased
	}
	return ledger.ResinCoated
}

func (c shelfContext) developer(view rules.BathView, next string) developerUse {
	d := developerUse{Bath: view.Bath.ID, Name: view.Bath.Name, Announce: view.Announce, Told: c.Announced(view), Token: web.NewToken()}
	if t, ok := view.Recommendation.Time(); ok {
		d.Time, d.Seconds = chem.MinutesSeconds(t), strconv.FormatFloat(t.Seconds(), 'f', 0, 64)
	}
	if c.Book == nil {
		return d
	}
	if held, ok := c.Book.InTray(view.Bath.ID, c.Book.At); ok {
		d.Container, d.EmergenceToken = held.Container, web.NewToken()
		q := url.Values{"container": {held.Container}, "test": {string(ledger.EmergenceTest)}, "next": {next}}
		d.Emergence = "/shelf/enter/test-done?" + q.Encode()
		q.Set("baseline", "on")
		d.Fresh = "/shelf/enter/test-done?" + q.Encode()
		d.Right = "/shelf/enter/print-timed?" + url.Values{"container": {held.Container}, "next": {next}}.Encode()
		if view.Portion != nil && view.Portion.Known != nil {
			d.First = held.Load == ledger.Load{} && view.Portion.Known.Emergence.Fresh == 0
			d.Factors = c.FactorLines(held.Product, view.Portion.Known.Emergence.Now)
		}
	}
	return d
}

// announcePost says that the people at a tray were told a time.
func (s *Pages) announcePost(w http.ResponseWriter, r *http.Request, in web.Visit) {
	s.Submit(w, r, web.Sent{
		Do: func(ctx context.Context) (string, *web.Problem) {
			receipt, err := s.announce(ctx, in, r.PostForm)
			if err != nil {
				return "", &web.Problem{Field: "act", Sentence: s.ErrorText(err)}
			}
			return receipt, nil
		},
		Next: func() *url.URL {
			if r.PostForm.Get("next") == "" {
				r.PostForm.Set("next", "/rooms/"+in.Snap.Room+"/baths")
			}
			return web.NextOf(r)
		},
		Stays: web.OnRecord,
		Back:  func(wrong *web.Problem) { s.ComeBack(w, r, "/rooms/"+in.Snap.Room+"/tonight", wrong) },
	})
}

func (s *Pages) announce(ctx context.Context, in web.Visit, v url.Values) (string, error) {
	seconds, err := strconv.ParseFloat(v.Get("seconds"), 64)
	if err != nil {
		seconds = 0 // refused with a sentence of its own
	}
	got, err := s.View.Do(ctx, rules.Command{Room: in.Snap.Room, Person: v.Get("who"),
		Act: rules.AnnounceTime{Bath: v.Get("bath"), Seconds: seconds}})
	return s.figures(in.Site).Text(got.Sentence), err
}

type trayUse struct {
	Shelf string   // where what is in the tray is emptied, tested and topped up; empty for an empty tray
	Found string   // where a bath of unknown origin is entered; empty for a tray that is filled
	Lid   *lidForm // nil for an empty tray
}

// lidForm puts the lid on a tray or takes it off.
type lidForm struct {
	Action, Title, Button                     string
	Container, Room, Session, Next, Token, ID string
}

// trayUse is what can be entered of a tray as it is.
func (c shelfContext) trayUse(t cards.ShelfTray, view rules.BathView) trayUse {
	open, _ := c.OpenSession(t.Room)
	session, next := open.ID, "/rooms/"+t.Room+"/baths"
	held, filled := c.Book.InTray(t.Bath, c.Book.At)
	if !filled {
		return trayUse{Found: c.foundHref(t, view.Portion, url.Values{"in_session": {session}, "room": {t.Room}, "next": {next}})}
	}
	lid := &lidForm{Action: "/shelf/enter/trays-covered", Title: "Cover this tray", Button: "Lid is on",
		Container: held.Container, Room: t.Room, Session: session, Next: next, Token: web.NewToken(), ID: t.Bath}
	if k, _ := c.Book.Container(held.Container); k.Covered {
		lid.Action, lid.Title, lid.Button = "/shelf/enter/trays-uncovered", "Uncover this tray", "Lid is off"
	}
	return trayUse{Shelf: "/shelf/" + url.PathEscape(held.Container), Lid: lid}
}

// foundHref is where a bath of unknown origin is entered; what an older book says is in the tray
// is filled in. It is empty for a tray that holds no chemistry.
func (c shelfContext) foundHref(t cards.ShelfTray, old *rules.Portion, q url.Values) string {
	classes := t.Classes()
	if len(classes) == 0 {
		return ""
	}
	q.Set("container", c.Book.TrayOf(t))
	q.Set("class", string(classes[0]))
	if old != nil {
		q.Set("name", old.What)
		if old.Volume > 0 {
			q.Set("volume_ml", c.TypedVolume(old.Volume))
		}
		if old.Concentrate > 0 {
			q.Set("aim", web.Plain(old.Concentrate)+"+"+web.Plain(old.Water))
		}
	}
	return "/shelf/enter/bath-found?" + q.Encode()
}
