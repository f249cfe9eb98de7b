package people

import (
	"net/http"
	"time"

	"wetside/dashboard/web"
)

// awayCookie ties a sign-in at the house to the browser that began it.
func awayCookie(r *http.Request) string { return web.CookieName(r) + "-away" }

func setAway(w http.ResponseWriter, r *http.Request, ticket string, until time.Time) {
	c := &http.Cookie{Name: awayCookie(r), Value: ticket, Path: "/", Expires: until, HttpOnly: true, Secure: r.TLS != nil,
		SameSite: http.SameSiteLaxMode}
	if ticket == "" {
		c.MaxAge = -1
	}
	http.SetCookie(w, c)
}

// housePage leads to the house. It is a link, as a form may not lead away from this site.
func (s *Pages) housePage(w http.ResponseWriter, r *http.Request) {
	next := web.OwnPath(r.URL.Query().Get("next"), "/").String()
	away, err := s.Accounts.BeginHouse(next, web.IsHere(r))
	if err != nil {
		s.ShowSignIn(w, r, web.SignInBody{Next: next, Problem: s.ErrorText(err)})
		return
	}
	setAway(w, r, away.Ticket, away.Until)
	http.Redirect(w, r, away.Address, http.StatusSeeOther)
}

// houseBack takes somebody whom the house sent back.
func (s *Pages) houseBack(w http.ResponseWriter, r *http.Request) {
	back := Back{Answer: r.URL.Query(), From: web.AddressOf(r)}
	if c, err := r.Cookie(awayCookie(r)); err == nil {
		back.Ticket = c.Value
	}
	setAway(w, r, "", time.Time{})
	in, next, err := s.Accounts.FinishHouse(r.Context(), back)
	next = web.OwnPath(next, "/").String()
	if err != nil {
		s.ShowSignIn(w, r, web.SignInBody{Next: next, Problem: s.ErrorText(err)})
		return
	}
	s.goOn(w, r, in, next)
}

// houseSignOut is told by the house itself of somebody who signed out there: OpenID Connect
// Back-Channel Logout 1.0, section 2.8.
func (s *Pages) houseSignOut(w http.ResponseWriter, r *http.Request) {
	if err := s.Accounts.EndHouse(r.Context(), r.PostForm.Get("logout_token")); err != nil {
		web.SendText(w, http.StatusBadRequest, "The logout token is not taken.\n")
		return
	}
	web.SendText(w, http.StatusOK, "Signed out.\n")
}
