package dashboard

import (
	"net/http"
	"net/url"
	"strings"
)

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

// showSignIn draws the page of signing in. Before a page of white light it is of
// white light too, as soon as the address says so.
func (s *kit) showSignIn(w http.ResponseWriter, r *http.Request, body signInBody) {
	body.Look = doorLook(r)
	other := day
	if body.Look == day {
		other = red
	}
	body.Other = "/sign-in?" + url.Values{"look": {string(other)}, "next": {body.Next}}.Encode()
	if isHere(r) {
		body.Quick = s.Accounts.Quick()
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
func (s *kit) doorPage(here string, l look) page {
	p := s.pageFor(here, l, visit{site: s.View.Now()})
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
