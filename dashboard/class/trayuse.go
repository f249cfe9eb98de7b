package class

import (
	"net/url"

	"wetside/dashboard/cards"
	"wetside/dashboard/web"
	"wetside/rules"
)

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
	session, next := "", "/rooms/"+t.Room+"/baths"
	if open := c.cards().OpenSessions(t.Room); len(open) > 0 {
		session = open[len(open)-1].ID
	}
	held, filled := c.book.InTray(t.Bath, c.book.At)
	if !filled {
		return trayUse{Found: c.foundHref(t, view.Portion, url.Values{"in_session": {session}, "room": {t.Room}, "next": {next}})}
	}
	lid := &lidForm{Action: "/shelf/enter/trays-covered", Title: "Cover this tray", Button: "Lid is on",
		Container: held.Container, Room: t.Room, Session: session, Next: next, Token: web.NewToken(), ID: t.Bath}
	if k, _ := c.book.Container(held.Container); k.Covered {
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
	q.Set("container", c.book.TrayOf(t))
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
