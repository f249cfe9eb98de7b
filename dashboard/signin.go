package dashboard

import (
	"net/http"
	"net/url"

	"wetside/rules/access"
)

// peoplePages are the pages of signing in and of the people.
type peoplePages struct {
	*kit
	door        Door
	fingerprint string
}

// routes are those of the people; none where nobody signs in.
func (s *peoplePages) routes() []Route {
	if s.door == nil {
		return nil
	}
	keeper, page := From(access.Keeper), func(h http.HandlerFunc) http.Handler { return h }
	return []Route{
		{Pattern: "GET /sign-in", For: Open(), Answer: page(s.signInPage)},
		{Pattern: "POST /sign-in", For: Open(), Answer: page(s.signInPost)},
		{Pattern: "POST /sign-out", For: Open(), Answer: page(s.signOutPost)},
		{Pattern: "GET /join", For: Open(), Answer: page(s.joinPage)},
		{Pattern: "POST /join", For: Open(), Answer: page(s.joinPost)},
		{Pattern: "GET /people", For: keeper, Answer: page(s.peoplePage)},
		{Pattern: "POST /people", For: keeper, Answer: page(s.peoplePost)},
	}
}

func (s *peoplePages) signInPage(w http.ResponseWriter, r *http.Request) {
	s.showSignIn(w, r, signInBody{Next: ownPath(r.URL.Query().Get("next"), "/").String(), Joined: r.URL.Query().Has("joined")})
}

func (s *peoplePages) signInPost(w http.ResponseWriter, r *http.Request) {
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

func (s *peoplePages) signOutPost(w http.ResponseWriter, r *http.Request) {
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

func (s *peoplePages) joinPage(w http.ResponseWriter, r *http.Request) {
	s.showJoin(w, r, joinBody{})
}

func (s *peoplePages) showJoin(w http.ResponseWriter, r *http.Request, body joinBody) {
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

func (s *peoplePages) joinPost(w http.ResponseWriter, r *http.Request) {
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
