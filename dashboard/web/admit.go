package web

import (
	"errors"
	"fmt"
	"mime"
	"net/http"
	"net/url"
	"strings"

	"wetside/rules/access"
)

// admit puts a decision in front of a route. Where nobody signs in, everybody on
// this computer may use everything.
func (s *Kit) admit(of Route) http.Handler {
	d := of.For
	switch {
	case s.Accounts == nil || d.open:
		return s.withForm(of.Answer)
	case d.measures:
		return s.measured(of.Answer)
	}
	return http.HandlerFunc(func(w http.ResponseWriter, r *http.Request) {
		who, known := s.Accounts.Known(KeyOf(r))
		switch {
		case !known && d.reading && s.OpenReading:
			of.Answer.ServeHTTP(w, r)
		case !known && d.programs && s.Accounts.ReadsPrograms(KeyOf(r).Token):
			of.Answer.ServeHTTP(w, r)
		case !known && d.programs:
			s.askToken(w, r, of)
		case !known:
			s.askWho(w, r, of)
		case d.reading:
			of.Answer.ServeHTTP(w, r.WithContext(access.With(r.Context(), who)))
		case !who.Role.Covers(d.least):
			s.refuse(w, r, d.least)
		default:
			s.admitAct(w, r.WithContext(access.With(r.Context(), who)), of)
		}
	})
}

// measured lets only a token for the metrics through.
func (s *Kit) measured(next http.Handler) http.Handler {
	return http.HandlerFunc(func(w http.ResponseWriter, r *http.Request) {
		if !s.Accounts.Measures(KeyOf(r).Token) {
			w.Header().Set("WWW-Authenticate", "Bearer")
			s.Fail(w, r, Failure{http.StatusUnauthorized,
				"The metrics need a token of their own, sent as a bearer token: a keeper makes one with wetside people token."})
			return
		}
		next.ServeHTTP(w, r)
	})
}

// askToken tells a program that it needs a token, and a person where to sign in.
func (s *Kit) askToken(w http.ResponseWriter, r *http.Request, of Route) {
	if strings.Contains(r.Header.Get("Accept"), "text/html") {
		s.askWho(w, r, of)
		return
	}
	w.Header().Set("WWW-Authenticate", "Bearer")
	SendText(w, http.StatusUnauthorized,
		"A program needs a token here, sent as a bearer token: a manager makes one on the page /people/programs.\n")
}

// admitAct lets a form through whose act the person may do. Whoever signed in acts
// under the name of the account, whatever the form says.
func (s *Kit) admitAct(w http.ResponseWriter, r *http.Request, of Route) {
	if r.Method != http.MethodPost {
		of.Answer.ServeHTTP(w, r)
		return
	}
	if !s.readForm(w, r, longestForm) {
		return
	}
	who, _ := access.From(r.Context())
	act := r.PostForm.Get("act")
	if least, known := s.registry.leastOf(act); known && !who.Role.Covers(least) {
		s.refuse(w, r, least)
		return
	}
	if !of.takes(act) { // nobody said who may do that here
		s.answer(w, r, Failure{http.StatusBadRequest, UnknownAct})
		return
	}
	r.PostForm.Set(NameField, who.Name)
	of.Answer.ServeHTTP(w, r)
}

// withForm gives a route for forms its form; any other route gets no body at all.
func (s *Kit) withForm(next http.Handler) http.Handler {
	return http.HandlerFunc(func(w http.ResponseWriter, r *http.Request) {
		if r.Method != http.MethodPost || s.readForm(w, r, longestForm) {
			next.ServeHTTP(w, r)
		}
	})
}

// readForm reads a form of at most so many bytes into r.PostForm, or answers that the
// form can't be read. No other code reads the body of a request: a body of another kind
// would be written to memory and to the temporary folder as large as anybody likes.
func (s *Kit) readForm(w http.ResponseWriter, r *http.Request, most int64) bool {
	kind, _, err := mime.ParseMediaType(r.Header.Get("Content-Type"))
	if r.ContentLength != 0 && (err != nil || kind != "application/x-www-form-urlencoded") {
		s.Fail(w, r, Failure{http.StatusUnsupportedMediaType, Incomplete})
		return false
	}
	r.Body = http.MaxBytesReader(w, r.Body, most)
	err = r.ParseForm()
	if err == nil {
		return true
	}
	if tooLong := new(http.MaxBytesError); errors.As(err, &tooLong) {
		s.Fail(w, r, Failure{http.StatusRequestEntityTooLarge, "The form is far too long. Go back and shorten the text."})
	} else {
		s.Fail(w, r, Failure{http.StatusBadRequest, Incomplete})
	}
	return false
}

// askWho leads a person to the page of signing in, and tells a script. A form is
// kept, so that what was typed is there again afterwards. In the place of a page that is always
// red stands a red one.
func (s *Kit) askWho(w http.ResponseWriter, r *http.Request, of Route) {
	w.Header().Set("WWW-Authenticate", "Bearer")
	switch {
	case WantsText(r), KeyOf(r).Token != "", r.Header.Get("Accept") == "text/event-stream":
		s.answer(w, r, Failure{http.StatusUnauthorized, "Sign in first: this page is for people who are signed in."})
	case r.Method == http.MethodPost:
		if s.readForm(w, r, longestEarly) {
			s.ShowSignIn(w, r, SignInBody{Next: s.laterOf(r), Problem: "You were not signed in. Nothing was recorded. Sign in: your text is kept."})
		}
	default:
		body := SignInBody{Next: r.URL.RequestURI()}
		if of.Menu.Red {
			body.Look = Red
		}
		s.ShowSignIn(w, r, body)
	}
}

// longestEarly bounds the form of somebody who has not signed in, in bytes.
const longestEarly = 16 << 10

// longestLater bounds an address that carries what was typed.
const longestLater = 2000

// laterOf is where a form that came too early leads once somebody has signed in.
func (s *Kit) laterOf(r *http.Request) string {
	to := url.URL{Path: r.URL.Path}
	q := url.Values{}
	if t := readTyped(r.PostForm); t.Act != "" && validToken(t.Token) {
		s.early.keep(attemptBy{Attempt{t, &Problem{"act", "You were not signed in, and nothing was recorded. Press again."}}, "", r.URL.Path})
		q.Set("again", t.Token)
	} else {
		for name, values := range r.PostForm {
			if name != "token" && name != NameField {
				q[name] = values
			}
		}
	}
	if LookOf(r) == Red {
		q.Set("look", string(Red))
	}
	if to.RawQuery = q.Encode(); len(to.RawQuery) > longestLater {
		to.RawQuery = ""
	}
	return to.String()
}

// refuse answers somebody whose role does not cover what they ask for.
func (s *Kit) refuse(w http.ResponseWriter, r *http.Request, least access.Role) {
	s.answer(w, r, Failure{http.StatusForbidden, fmt.Sprintf("This needs the role %s or above: ask somebody who has it.", least)})
}

// answer tells a script in plain text what it tells a person on a page.
func (s *Kit) answer(w http.ResponseWriter, r *http.Request, f Failure) {
	if WantsText(r) {
		SendText(w, f.Status, f.Sentence)
		return
	}
	s.Fail(w, r, f)
}
