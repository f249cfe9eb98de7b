package web

import (
	"fmt"
	"net/http"
	"runtime/debug"

	"go.uber.org/zap"

	"wetside/rules"
	"wetside/rules/access"
)

// tellRefusals gives the mux's own "not found" and "not allowed" answers as red pages.
func (s *Kit) tellRefusals(mux *http.ServeMux) http.Handler {
	return http.HandlerFunc(func(w http.ResponseWriter, r *http.Request) {
		h, pattern := mux.Handler(r)
		if pattern != "" {
			mux.ServeHTTP(w, r)
			return
		}
		probe := &statusProbe{header: http.Header{}}
		h.ServeHTTP(probe, r)
		if probe.status == http.StatusMethodNotAllowed {
			w.Header().Set("Allow", probe.header.Get("Allow"))
			s.Fail(w, r, Failure{http.StatusMethodNotAllowed, "This page can't be used that way."})
			return
		}
		s.Fail(w, r, Failure{http.StatusNotFound, NoSuchPage})
	})
}

// statusProbe learns what a handler would have answered, and throws the body away.
type statusProbe struct {
	header http.Header
	status int
}

// Header holds the headers of the answer.
func (p *statusProbe) Header() http.Header { return p.header }

// Write throws the body away.
func (p *statusProbe) Write(b []byte) (int, error) { return len(b), nil }

func (p *statusProbe) WriteHeader(status int) { p.status = status }

// roomHandler answers for a room that exists.
type roomHandler func(w http.ResponseWriter, r *http.Request, in Visit)

// Visit is what a page of a room is drawn from.
type Visit struct {
	Site *Site
	Snap *rules.Snapshot
	// Sees are the sites of a centre that whoever looks may see.
	Sees access.Sites
	// Role is that of whoever signed in; empty where nobody does.
	Role access.Role
}

// VisitOf is the visit of whoever asks, of a room or of none.
func VisitOf(r *http.Request, site *Site, snap *rules.Snapshot) Visit {
	return Visit{Site: site, Snap: snap, Role: access.RoleOf(r.Context())}
}

// InRoom answers for a room that exists, and knows no such room otherwise.
func (s *Kit) InRoom(h roomHandler) http.Handler {
	return http.HandlerFunc(func(w http.ResponseWriter, r *http.Request) {
		site := s.View.Now()
		if snap := roomOf(site, r.PathValue("room")); snap != nil {
			h(w, r, VisitOf(r, site, snap))
			return
		}
		s.Fail(w, r, Failure{http.StatusNotFound, "There is no room with this name."})
	})
}

// Having answers where a part of the program is there, and knows no such page where it is not.
func (s *Kit) Having(part bool, h http.HandlerFunc) http.Handler {
	if part {
		return h
	}
	return http.HandlerFunc(func(w http.ResponseWriter, r *http.Request) {
		s.Fail(w, r, Failure{http.StatusNotFound, NoSuchPage})
	})
}

// guard sets the headers of every answer, refuses posts that another site
// started, and turns a panic into a red page.
func (s *Kit) guard(next http.Handler) http.Handler {
	cross := http.NewCrossOriginProtection()
	cross.SetDenyHandler(http.HandlerFunc(func(w http.ResponseWriter, r *http.Request) {
		s.Fail(w, r, Failure{http.StatusForbidden, "This form was sent from another site, so it was ignored."})
	}))
	next = cross.Handler(next)
	return http.HandlerFunc(func(w http.ResponseWriter, r *http.Request) {
		setHeaders(w.Header(), s.assets)
		defer s.recover(w, r)
		if s.Gate != nil {
			if status, sentence := s.Gate(r); status != 0 {
				s.Fail(w, r, Failure{status, sentence})
				return
			}
		}
		next.ServeHTTP(w, r)
	})
}

func (s *Kit) recover(w http.ResponseWriter, r *http.Request) {
	cause := recover()
	if cause == nil {
		return
	}
	if cause == http.ErrAbortHandler {
		panic(cause)
	}
	s.Log.Error("a page failed", zap.String("path", r.URL.Path), zap.String("cause", fmt.Sprint(cause)),
		zap.ByteString("stack", debug.Stack()))
	s.Fail(w, r, Failure{http.StatusInternalServerError, NotDrawn})
}

// setHeaders allows nothing but what this program itself serves. The referrer
// policy is same-origin and not stricter: under no-referrer a browser sends
// "Origin: null" with a form, which can't be told from a foreign one where the
// address is a plain one of the local network.
func setHeaders(h http.Header, a assets) {
	h.Set("Content-Security-Policy", a.policy)
	h.Set("X-Content-Type-Options", "nosniff")
	h.Set("Referrer-Policy", "same-origin")
	h.Set("Permissions-Policy", "camera=(), microphone=(), geolocation=()")
	h.Set("Cache-Control", "no-store")
}
