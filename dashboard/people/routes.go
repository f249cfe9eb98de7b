// Package people has the pages of signing in and of the people who may.
package people

import (
	"net/http"

	"wetside/dashboard/web"
	"wetside/rules/access"
)

// Pages are the pages of signing in and of the people.
type Pages struct {
	*web.Kit
	Accounts    Accounts
	Fingerprint string
	// OfSites is set at a centre, where it is said who sees which sites.
	OfSites bool
}

// Routes are those of the people; none where nobody signs in.
func (s *Pages) Routes() []web.Route {
	if s.Accounts == nil {
		return nil
	}
	keeper, manager, anybody := web.From(access.Keeper), web.From(access.Manager), web.From(access.Volunteer)
	page := func(h http.HandlerFunc) http.Handler { return h }
	routes := []web.Route{
		{Pattern: "GET /sign-in", For: web.Open(), Answer: page(s.signInPage)},
		{Pattern: "POST /sign-in", For: web.Open(), Answer: page(s.signInPost)},
		{Pattern: "GET /sign-in/house", For: web.Open(), Answer: page(s.housePage)},
		{Pattern: "GET /sign-in/house/back", For: web.Open(), Answer: page(s.houseBack)},
		{Pattern: "POST /sign-in/house/sign-out", For: web.Open(), Answer: page(s.houseSignOut)},
		{Pattern: "POST /sign-in/code", For: web.Open(), Answer: page(s.codePost)},
		{Pattern: "GET /second-step", For: anybody, Answer: page(s.secondStepPage),
			Menu: web.Entry{Under: web.UnderTechnics, At: 6, Name: "second-step", Text: "Second step"}},
		{Pattern: "POST /second-step", For: anybody, Answer: page(s.secondStepPost)},
		{Pattern: "POST /sign-out", For: web.Open(), Answer: page(s.signOutPost)},
		{Pattern: "GET /join", For: web.Open(), Answer: page(s.joinPage)},
		{Pattern: "POST /join", For: web.Open(), Answer: page(s.joinPost)},
		{Pattern: "GET /people", For: keeper, Answer: page(s.peoplePage),
			Menu: web.Entry{Under: web.UnderTechnics, At: 4, Name: "people", Text: "People"}},
		{Pattern: "POST /people", For: keeper, Answer: page(s.peoplePost)},
	}
	if s.OfSites { // no program reads at a centre
		return routes
	}
	return append(routes, web.Route{Pattern: "GET /people/programs", For: manager, Answer: page(s.programsPage),
		Menu: web.Entry{Under: web.UnderTechnics, At: 5, Name: "programs", Text: "Programs"}},
		web.Route{Pattern: "POST /people/programs", For: manager, Answer: page(s.programsPost)})
}

func (s *Pages) signInPage(w http.ResponseWriter, r *http.Request) {
	asked := r.URL.Query()
	next := web.OwnPath(asked.Get("next"), "/")
	if q := next.Query(); asked.Get("look") == string(web.Red) && !q.Has("look") { // chosen in the dark: nothing white comes after
		q.Set("look", string(web.Red))
		next.RawQuery = q.Encode()
	}
	s.ShowSignIn(w, r, web.SignInBody{Next: next.String()})
}

func (s *Pages) signInPost(w http.ResponseWriter, r *http.Request) {
	form := r.PostForm
	try := SignIn{Name: form.Get("name"), Password: form.Get("password"), PIN: form.Get("pin"), From: web.AddressOf(r), Here: web.IsHere(r)}
	next := web.OwnPath(form.Get("next"), "/").String()
	in, err := s.Accounts.SignIn(r.Context(), try)
	if err != nil {
		s.ShowSignIn(w, r, web.SignInBody{Next: next, Name: web.Clip(try.Name), Problem: s.ErrorText(err)})
		return
	}
	s.goOn(w, r, in, next)
}

func (s *Pages) signOutPost(w http.ResponseWriter, r *http.Request) {
	s.Accounts.SignOut(r.Context(), web.KeyOf(r))
	http.SetCookie(w, &http.Cookie{Name: web.CookieName(r), Path: "/", MaxAge: -1, HttpOnly: true, Secure: r.TLS != nil,
		SameSite: http.SameSiteLaxMode})
	http.Redirect(w, r, "/sign-in?look="+string(web.DoorLook(r)), http.StatusSeeOther)
}

type joinBody struct {
	Look          web.Look
	Code, Problem string
	Who           access.Person
	Role          string
}

func (s *Pages) joinPage(w http.ResponseWriter, r *http.Request) {
	s.showJoin(w, r, joinBody{})
}

func (s *Pages) showJoin(w http.ResponseWriter, r *http.Request, body joinBody) {
	body.Look = web.LookOf(r)
	if body.Code != "" {
		who, err := s.Accounts.Invited(body.Code)
		if err != nil && body.Problem == "" {
			body.Problem = s.ErrorText(err)
		}
		if body.Who = who; err == nil {
			body.Role = string(who.Role)
		}
	}
	s.Show(w, r, web.StatusOf(body.Problem), s.DoorPage(web.Head{Name: "join", Title: "Choose a password"}, body.Look).With(body))
}

func (s *Pages) joinPost(w http.ResponseWriter, r *http.Request) {
	form := r.PostForm
	if !form.Has("password") { // the code alone: a code in an address would stay in the browser's history
		s.showJoin(w, r, joinBody{Code: form.Get("code")})
		return
	}
	who, _ := s.Accounts.Invited(form.Get("code")) // if the code is wrong, Join says so
	err := s.Accounts.Join(r.Context(), Joining{Code: form.Get("code"), Password: form.Get("password"), Again: form.Get("again"),
		PIN: form.Get("pin")})
	if err != nil {
		s.showJoin(w, r, joinBody{Code: form.Get("code"), Problem: s.ErrorText(err)})
		return
	}
	// Shown at once: a name in an address would stay in the browser's history.
	s.ShowSignIn(w, r, web.SignInBody{Look: web.LookOf(r), Next: "/", Name: who.Name, Joined: true})
}

type figures struct{ web.Figures }

func (s *Pages) figures(site *web.Site) figures { return figures{s.Figures(site)} }
