package web

import (
	"net/http"
	"net/url"
	"time"

	"wetside/rules/session"
)

// nameCookie keeps the name of whoever entered something last on this screen, for an evening.
const (
	nameCookie = "wetside-name"
	anEvening  = 8 * time.Hour
)

// lookCookie keeps the look that was last chosen on this device, for as long as browsers keep such a thing.
const (
	lookCookie = "wetside-look"
	forLong    = 400 * 24 * time.Hour
)

// chosenLook is the look that a request names, in its form or its address; empty where it names none.
func chosenLook(r *http.Request) Look {
	switch l := Look(valueOf(r, "look")); l {
	case Red, Day:
		return l
	}
	return ""
}

// keptLook is the look that the device of a request keeps; empty where nobody has chosen one there.
func keptLook(r *http.Request) Look {
	cookie, err := r.Cookie(lookCookie)
	if err != nil || Look(cookie.Value) != Red && Look(cookie.Value) != Day {
		return ""
	}
	return Look(cookie.Value)
}

// keepLook has the device keep the look that the address of a page names. A page that is red
// whatever is asked for says nothing about the others.
func (s *Kit) keepLook(w http.ResponseWriter, r *http.Request, p Page) {
	l := Look(r.URL.Query().Get("look"))
	if l != p.Look || l == keptLook(r) || s.registry.red[p.Here] {
		return
	}
	http.SetCookie(w, &http.Cookie{Name: lookCookie, Value: string(l), Path: "/", MaxAge: int(forLong.Seconds()),
		HttpOnly: true, Secure: r.TLS != nil, SameSite: http.SameSiteLaxMode})
}

// RedPage is a page of a room that is red whatever the device keeps. It leads to pages in the
// look that the device keeps, but to red ones while a session may have paper lying open.
func (s *Kit) RedPage(r *http.Request, head Head, in Visit) Page {
	p := s.PageFor(head, Red, in)
	switch in.Snap.Session.Phase {
	case session.SetUp, session.Open, session.TakeDown:
		return p
	}
	if keptLook(r) == Day {
		p.Menus = s.menus(head.Name, Day, in)
	}
	return p
}

// Remember keeps the name with which a form was entered.
func Remember(w http.ResponseWriter, r *http.Request) {
	name := r.PostForm.Get(NameField)
	if name == "" {
		return
	}
	http.SetCookie(w, &http.Cookie{Name: nameCookie, Value: url.QueryEscape(name), Path: "/", MaxAge: int(anEvening.Seconds()),
		HttpOnly: true, Secure: r.TLS != nil, SameSite: http.SameSiteStrictMode})
}

// WithName fills in the name that was remembered, unless the address says whose it is. An empty
// name in the address asks for it anew.
func WithName(r *http.Request, v url.Values) url.Values {
	cookie, err := r.Cookie(nameCookie)
	if v.Has(NameField) || err != nil {
		return v
	}
	if name, err := url.QueryUnescape(cookie.Value); err == nil {
		v.Set(NameField, Clip(name))
	}
	return v
}
