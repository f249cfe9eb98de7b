package web

import (
	"cmp"
	"net/http"
	"net/url"
	"strings"
)

// SignInBody is the page of signing in.
type SignInBody struct {
	Look Look
	// Next is the address that the form leads to.
	Next, Name, Problem string
	// Quick are the people who may use a PIN; empty away from the lab computer.
	Quick []string
	// House is what people call the service by which they sign in too, and HouseHref leads there.
	House, HouseHref string
	// Other leads to the same page in the other look.
	Other string
	// Joined is set for somebody who has just chosen a password.
	Joined bool
}

// DoorLook is the look of a page before anybody has signed in. It is red unless white
// light was asked for, now or earlier: whoever is sent here may stand in the dark.
func DoorLook(r *http.Request) Look { return cmp.Or(chosenLook(r), keptLook(r), Red) }

// ShowSignIn draws the page of signing in. Before a page of white light it is of
// white light too, as soon as the address says so.
func (s *Kit) ShowSignIn(w http.ResponseWriter, r *http.Request, body SignInBody) {
	body.Look = cmp.Or(body.Look, DoorLook(r))
	other := Day
	if body.Look == Day {
		other = Red
	}
	body.Other = "/sign-in?" + url.Values{"look": {string(other)}, "next": {body.Next}}.Encode()
	body.House = s.Accounts.House()
	body.HouseHref = "/sign-in/house?" + url.Values{"look": {string(body.Look)}, "next": {body.Next}}.Encode()
	if IsHere(r) {
		body.Quick = s.Accounts.Quick()
	}
	p := s.DoorPage(Head{"sign-in", "Sign in"}, body.Look)
	p.Body = body
	status := http.StatusOK
	switch {
	case body.Joined:
	case !strings.HasPrefix(r.URL.Path, "/sign-in"):
		status = http.StatusUnauthorized
	case body.Problem != "":
		status = http.StatusUnprocessableEntity
	}
	s.Show(w, r, status, p)
}

// DoorPage is a page for whoever has not signed in: it leads nowhere else.
func (s *Kit) DoorPage(head Head, l Look) Page {
	p := s.PageFor(head, l, Visit{Site: s.View.Now()})
	p.Menus, p.Styles = nil, append(p.Styles, "people.css")
	return p
}

// OwnPath gives an address on this very site that somebody asked to be led to, or otherwise.
func OwnPath(text, otherwise string) *url.URL {
	to, err := url.Parse(text)
	if err != nil || !strings.HasPrefix(text, "/") || strings.HasPrefix(text, "//") || to.Host != "" || to.Scheme != "" {
		return &url.URL{Path: otherwise}
	}
	return to
}

// NextOf is where a form leads: back to the page that asked for it, or to the shelf.
func NextOf(r *http.Request) *url.URL {
	to := OwnPath(r.PostForm.Get("next"), "/shelf")
	if q := to.Query(); q.Has(NameField) { // a page on which much is entered keeps the name
		q.Set(NameField, r.PostForm.Get(NameField))
		to.RawQuery = q.Encode()
	}
	return to
}
