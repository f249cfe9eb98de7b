package dashboard

import (
	"net/http"
	"strings"

	"wetside/rules/access"
)

// Door knows the people who sign in, and the scripts that have a token.
type Door interface {
	// Known gives the person of a session or of a token; ok is false when it is
	// unknown, ended or revoked.
	Known(Key) (p access.Person, ok bool)
	// Measures says whether a token is one for the metrics.
	Measures(token string) bool
}

// Key is what a request shows of itself: the session of a browser, or the token of a script.
type Key struct{ Session, Token string }

// sessionCookie names the cookie of a session.
const sessionCookie = "wetside-session"

func keyOf(r *http.Request) Key {
	var k Key
	if c, err := r.Cookie(sessionCookie); err == nil {
		k.Session = c.Value
	}
	if scheme, token, found := strings.Cut(r.Header.Get("Authorization"), " "); found && strings.EqualFold(scheme, "Bearer") {
		k.Token = strings.TrimSpace(token)
	}
	return k
}

// admit puts a decision in front of a route. Where nobody signs in, everybody on
// this computer may use everything.
func (s *Server) admit(d decision, next http.Handler) http.Handler {
	if s.door == nil || d.open {
		return next
	}
	if d.measures {
		return s.measured(next)
	}
	return http.HandlerFunc(func(w http.ResponseWriter, r *http.Request) {
		who, known := s.door.Known(keyOf(r))
		switch {
		case !known && d.reading && s.openReading:
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
func (s *Server) measured(next http.Handler) http.Handler {
	return http.HandlerFunc(func(w http.ResponseWriter, r *http.Request) {
		if !s.door.Measures(keyOf(r).Token) {
			w.Header().Set("WWW-Authenticate", "Bearer")
			s.fail(w, r, failure{http.StatusUnauthorized, s.words.Say("access.token")})
			return
		}
		next.ServeHTTP(w, r)
	})
}

// admitAct lets a form through whose act the person may do. Whoever signed in acts
// under the name of the account, whatever the form says.
func (s *Server) admitAct(w http.ResponseWriter, r *http.Request, next http.Handler) {
	if r.Method != http.MethodPost {
		next.ServeHTTP(w, r)
		return
	}
	r.Body = http.MaxBytesReader(w, r.Body, longestForm)
	if err := r.ParseForm(); err != nil {
		s.refuseForm(w, r, err)
		return
	}
	who, _ := access.From(r.Context())
	if least, above := actsAbove()[r.PostForm.Get("act")]; above && !who.Role.Covers(least) {
		s.refuse(w, r, least)
		return
	}
	r.PostForm.Set(nameField, who.Name)
	r.Form.Set(nameField, who.Name)
	next.ServeHTTP(w, r)
}

// askWho answers whoever has not signed in.
func (s *Server) askWho(w http.ResponseWriter, r *http.Request) {
	w.Header().Set("WWW-Authenticate", "Bearer")
	s.answer(w, r, failure{http.StatusUnauthorized, s.words.Say("access.sign-in")})
}

// refuse answers somebody whose role does not cover what they ask for.
func (s *Server) refuse(w http.ResponseWriter, r *http.Request, least access.Role) {
	s.answer(w, r, failure{http.StatusForbidden, s.words.Say("access.role", least)})
}

// answer tells a script in plain text what it tells a person on a page.
func (s *Server) answer(w http.ResponseWriter, r *http.Request, f failure) {
	if wantsText(r) {
		sendText(w, f.status, f.sentence)
		return
	}
	s.fail(w, r, f)
}
