package dashboard

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

// remember keeps the name with which a form was entered.
func remember(w http.ResponseWriter, r *http.Request) {
	name := r.PostForm.Get(nameField)
	if name == "" {
		return
	}
	http.SetCookie(w, &http.Cookie{Name: nameCookie, Value: url.QueryEscape(name), Path: "/", MaxAge: int(anEvening.Seconds()),
		HttpOnly: true, Secure: r.TLS != nil, SameSite: http.SameSiteStrictMode})
}

// withName fills in the name that was remembered, unless the address says whose it is. An empty
// name in the address asks for it anew.
func withName(r *http.Request, v url.Values) url.Values {
	cookie, err := r.Cookie(nameCookie)
	if v.Has(nameField) || err != nil {
		return v
	}
	if name, err := url.QueryUnescape(cookie.Value); err == nil {
		v.Set(nameField, clip(name))
	}
	return v
}
