package dashboard

import (
	"net/http"
	"net/url"
	"strings"

	"wetside/rules/access"
)

// doorRoutes are the pages of signing in and of the people.
func (s *Server) doorRoutes(mux *routes) {
	if s.door == nil {
		return
	}
	mux.HandleFunc("GET /sign-in", s.signInPage)
	mux.HandleFunc("POST /sign-in", s.signInPost)
	mux.HandleFunc("POST /sign-out", s.signOutPost)
	mux.HandleFunc("GET /join", s.joinPage)
	mux.HandleFunc("POST /join", s.joinPost)
	mux.HandleFunc("GET /people", s.peoplePage)
	mux.HandleFunc("POST /people", s.peoplePost)
}

// signInBody is the page of signing in.
type signInBody struct {
	Look look
	// Next is where it leads.
	Next, Name, Problem string
	// Quick are the people who may use a PIN; empty away from the lab computer.
	Quick []string
	// Other leads to the same page in the other look.
	Other string
	// Joined is set for somebody who has just chosen a password.
	Joined bool
}

// doorLook is the look of a page before anybody has signed in. It is red unless white
// light was asked for: whoever is sent here may stand in the dark.
func doorLook(r *http.Request) look {
	if valueOf(r, "look") == string(day) {
		return day
	}
	return red
}

func (s *Server) signInPage(w http.ResponseWriter, r *http.Request) {
	s.showSignIn(w, r, signInBody{Next: ownPath(r.URL.Query().Get("next"), "/").String(), Joined: r.URL.Query().Has("joined")})
}

// showSignIn draws the page of signing in. Before a page of white light it is of
// white light too, as soon as the address says so.
func (s *Server) showSignIn(w http.ResponseWriter, r *http.Request, body signInBody) {
	body.Look = doorLook(r)
	other := day
	if body.Look == day {
		other = red
	}
	body.Other = "/sign-in?" + url.Values{"look": {string(other)}, "next": {body.Next}}.Encode()
	if isHere(r) {
		body.Quick = s.door.Quick()
	}
	p := s.doorPage("sign-in", body.Look)
	p.Body = body
	status := http.StatusOK
	switch {
	case r.URL.Path != "/sign-in":
		status = http.StatusUnauthorized
	case body.Problem != "":
		status = http.StatusUnprocessableEntity
	}
	s.show(w, r, status, p)
}

// doorPage is a page for whoever has not signed in: it leads nowhere else.
func (s *Server) doorPage(here string, l look) page {
	p := s.pageFor(here, l, visit{site: s.view.Now()})
	p.Menus, p.Styles = nil, append(p.Styles, "people.css")
	return p
}

// ownPath gives an address on this very site that somebody asked to be led to, or otherwise.
func ownPath(text, otherwise string) *url.URL {
	to, err := url.Parse(text)
	if err != nil || !strings.HasPrefix(text, "/") || strings.HasPrefix(text, "//") || to.Host != "" || to.Scheme != "" {
		return &url.URL{Path: otherwise}
	}
	return to
}

func (s *Server) signInPost(w http.ResponseWriter, r *http.Request) {
	form := r.PostForm
	try := SignIn{Name: form.Get("name"), Password: form.Get("password"), PIN: form.Get("pin"), From: addressOf(r), Here: isHere(r)}
	next := ownPath(form.Get("next"), "/").String()
	session, err := s.door.SignIn(r.Context(), try)
	if err != nil {
		s.showSignIn(w, r, signInBody{Next: next, Name: clip(try.Name), Problem: s.sentenceOf(err)})
		return
	}
	http.SetCookie(w, &http.Cookie{Name: cookieName(r), Value: session.Key, Path: "/", Expires: session.Until,
		HttpOnly: true, Secure: r.TLS != nil, SameSite: http.SameSiteLaxMode})
	http.Redirect(w, r, next, http.StatusSeeOther)
}

func (s *Server) signOutPost(w http.ResponseWriter, r *http.Request) {
	s.door.SignOut(r.Context(), keyOf(r))
	http.SetCookie(w, &http.Cookie{Name: cookieName(r), Path: "/", MaxAge: -1, HttpOnly: true, Secure: r.TLS != nil, SameSite: http.SameSiteLaxMode})
	http.Redirect(w, r, "/sign-in?look="+string(doorLook(r)), http.StatusSeeOther)
}

// joinBody is the page on which an invitation is taken up.
type joinBody struct {
	Look          look
	Code, Problem string
	Who           access.Person
	Role          string
}

func (s *Server) joinPage(w http.ResponseWriter, r *http.Request) {
	s.showJoin(w, r, joinBody{})
}

func (s *Server) showJoin(w http.ResponseWriter, r *http.Request, body joinBody) {
	body.Look = lookOf(r)
	if body.Code != "" {
		who, err := s.door.Invited(body.Code)
		if err != nil && body.Problem == "" {
			body.Problem = s.sentenceOf(err)
		}
		if body.Who = who; err == nil {
			body.Role = s.words.Say("role." + string(who.Role))
		}
	}
	p := s.doorPage("join", body.Look)
	p.Body = body
	status := http.StatusOK
	if body.Problem != "" {
		status = http.StatusUnprocessableEntity
	}
	s.show(w, r, status, p)
}

func (s *Server) joinPost(w http.ResponseWriter, r *http.Request) {
	form := r.PostForm
	if !form.Has("password") { // the code alone: a code in an address would stay in the browser's history
		s.showJoin(w, r, joinBody{Code: form.Get("code")})
		return
	}
	err := s.door.Join(r.Context(), Joining{Code: form.Get("code"), Password: form.Get("password"), Again: form.Get("again"), PIN: form.Get("pin")})
	if err != nil {
		s.showJoin(w, r, joinBody{Code: form.Get("code"), Problem: s.sentenceOf(err)})
		return
	}
	http.Redirect(w, r, "/sign-in?"+url.Values{"look": {string(lookOf(r))}, "joined": {"yes"}}.Encode(), http.StatusSeeOther)
}
