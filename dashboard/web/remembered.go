package web

import (
	"net/http"
	"net/url"
	"time"
)

// nameCookie keeps the name of whoever entered something last on this screen, for an evening.
const (
	nameCookie = "wetside-name"
	anEvening  = 8 * time.Hour
)

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
