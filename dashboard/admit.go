package dashboard

import (
	"errors"
	"mime"
	"net/http"
	"net/url"

	"wetside/rules/access"
)

// admit puts a decision in front of a route. Where nobody signs in, everybody on
// this computer may use everything.
func (s *kit) admit(d Admission, next http.Handler) http.Handler {
	switch {
	case s.Accounts == nil || d.open:
		return s.withForm(next)
	case d.measures:
		return s.measured(next)
	}
	return http.HandlerFunc(func(w http.ResponseWriter, r *http.Request) {
		who, known := s.Accounts.Known(keyOf(r))
		switch {
		case !known && d.reading && s.OpenReading:
			next.ServeHTTP(w, r)
		case !known:
			s.askWho(w, r)
		case d.reading:
			next.ServeHTTP(w, r.WithContext(access.With(r.Context(), who)))
		case !who.Role.Covers(d.least):
			s.refuse(w, r, d.least)
		default:
			s.admitAct(w, r.WithContext(access.With(r.Context(), who)), next)
		}
	})
}

// measured lets only a token for the metrics through.
func (s *kit) measured(next http.Handler) http.Handler {
	return http.HandlerFunc(func(w http.ResponseWriter, r *http.Request) {
		if !s.Accounts.Measures(keyOf(r).Token) {
			w.Header().Set("WWW-Authenticate", "Bearer")
			s.fail(w, r, failure{http.StatusUnauthorized, s.words.Say("access.token")})
			return
		}
		next.ServeHTTP(w, r)
	})
}

// admitAct lets a form through whose act the person may do. Whoever signed in acts
// under the name of the account, whatever the form says.
func (s *kit) admitAct(w http.ResponseWriter, r *http.Request, next http.Handler) {
	if r.Method != http.MethodPost {
		next.ServeHTTP(w, r)
		return
	}
	if !s.readForm(w, r, longestForm) {
		return
	}
	who, _ := access.From(r.Context())
	if least, known := s.registry.leastOf(r.PostForm.Get("act")); known && !who.Role.Covers(least) {
		s.refuse(w, r, least)
		return
	}
	r.PostForm.Set(nameField, who.Name)
	next.ServeHTTP(w, r)
}

// withForm gives a route for forms its form; any other route gets no body at all.
func (s *kit) withForm(next http.Handler) http.Handler {
	return http.HandlerFunc(func(w http.ResponseWriter, r *http.Request) {
		if r.Method != http.MethodPost || s.readForm(w, r, longestForm) {
			next.ServeHTTP(w, r)
		}
	})
}

// readForm reads a form of at most so many bytes into r.PostForm, or answers that the
// form can't be read. No other code reads the body of a request: a body of another kind
// would be written to memory and to the temporary folder as large as anybody likes.
func (s *kit) readForm(w http.ResponseWriter, r *http.Request, most int64) bool {
	kind, _, err := mime.ParseMediaType(r.Header.Get("Content-Type"))
	if r.ContentLength != 0 && (err != nil || kind != "application/x-www-form-urlencoded") {
		s.fail(w, r, failure{http.StatusUnsupportedMediaType, s.words.Say("form.incomplete")})
		return false
	}
	r.Body = http.MaxBytesReader(w, r.Body, most)
	err = r.ParseForm()
	if err == nil {
		return true
	}
	if tooLong := new(http.MaxBytesError); errors.As(err, &tooLong) {
		s.fail(w, r, failure{http.StatusRequestEntityTooLarge, s.words.Say("form.too-long")})
	} else {
		s.fail(w, r, failure{http.StatusBadRequest, s.words.Say("form.incomplete")})
	}
	return false
}

// askWho leads a person to the page of signing in, and tells a script. A form is
// kept, so that what was typed is there again afterwards.
func (s *kit) askWho(w http.ResponseWriter, r *http.Request) {
	w.Header().Set("WWW-Authenticate", "Bearer")
	switch {
	case wantsText(r), keyOf(r).Token != "", r.Header.Get("Accept") == "text/event-stream":
		s.answer(w, r, failure{http.StatusUnauthorized, s.words.Say("access.sign-in")})
	case r.Method == http.MethodPost:
		if s.readForm(w, r, longestEarly) {
			s.showSignIn(w, r, signInBody{Next: s.laterOf(r), Problem: s.words.Say("access.form-waits")})
		}
	default:
		s.showSignIn(w, r, signInBody{Next: r.URL.RequestURI()})
	}
}

// longestEarly bounds the form of somebody who has not signed in, in bytes.
const longestEarly = 16 << 10

// longestLater bounds an address that carries what was typed.
const longestLater = 2000

// laterOf is where a form that came too early leads once somebody has signed in.
func (s *kit) laterOf(r *http.Request) string {
	to := url.URL{Path: r.URL.Path}
	q := url.Values{}
	if t := readTyped(r.PostForm); t.Act != "" && validToken(t.Token) {
		s.early.keep(attemptBy{attempt{t, &problem{"act", s.words.Say("access.form-again")}}, "", r.URL.Path})
		q.Set("again", t.Token)
	} else {
		for name, values := range r.PostForm {
			if name != "token" && name != nameField {
				q[name] = values
			}
		}
	}
	if lookOf(r) == red {
		q.Set("look", string(red))
	}
	if to.RawQuery = q.Encode(); len(to.RawQuery) > longestLater {
		to.RawQuery = ""
	}
	return to.String()
}

// refuse answers somebody whose role does not cover what they ask for.
func (s *kit) refuse(w http.ResponseWriter, r *http.Request, least access.Role) {
	s.answer(w, r, failure{http.StatusForbidden, s.words.Say("access.role", s.words.Say("role."+string(least)))})
}

// answer tells a script in plain text what it tells a person on a page.
func (s *kit) answer(w http.ResponseWriter, r *http.Request, f failure) {
	if wantsText(r) {
		sendText(w, f.status, f.sentence)
		return
	}
	s.fail(w, r, f)
}
