package web

import (
	"bytes"
	"errors"
	"fmt"
	"io"
	"net/http"
	"time"

	"wetside/rules/access"
)

// Streamed makes a page live. It has forms, so that a browser without script does not
// load it again by itself: what was typed would be gone.
func (p Page) Streamed(here string) Page {
	p.Stream = p.Look.Keep("/rooms/" + p.Room + "/" + here + "/events")
	return p
}

// writeWithin is how long a reader may take to accept what is sent; a slower one is cut off.
const writeWithin = 5 * time.Second

// streamOf answers with the live parts of a route, of its room where it has one.
func (s *Kit) streamOf(of Route) http.Handler {
	if _, ofRoom := of.path(); !ofRoom {
		return http.HandlerFunc(func(w http.ResponseWriter, r *http.Request) {
			s.stream(w, r, topic{of.Pattern, "", LookOf(r), access.SitesOf(r.Context())})
		})
	}
	return s.InRoom(func(w http.ResponseWriter, r *http.Request, in Visit) {
		s.stream(w, r, topic{of.Pattern, in.Snap.Room, LookOf(r), ""})
	})
}

// streamParts draws the parts of a live page, in the very templates that the page itself uses.
func (s *Kit) streamParts(d *Drawing, t topic) {
	of, in := s.registry.live[t.page], Visit{Site: s.View.Now(), Sees: t.sees}
	if t.room != "" {
		if in.Snap = roomOf(in.Site, t.room); in.Snap == nil {
			d.err = errNoRoom
			return
		}
	}
	d.templates = s.templates
	of.Live(d, in, t.look)
}

// stream sends a live page as server-sent events until either side ends.
func (s *Kit) stream(w http.ResponseWriter, r *http.Request, t topic) {
	reader, ok := s.hub.enter(r.Context(), t)
	if !ok {
		s.Fail(w, r, Failure{http.StatusServiceUnavailable, "wetside is closing: try again in a moment."})
		return
	}
	defer s.hub.exit(reader)
	w.Header().Set("Content-Type", "text/event-stream")
	out := eventWriter{to: w, control: http.NewResponseController(w), version: s.assets.version,
		has: r.Header.Get("Last-Event-ID")}
	for {
		select {
		case <-r.Context().Done():
			return
		case f, open := <-reader.frames:
			if !open || s.hasOtherRights(r) || out.write(f) != nil {
				return
			}
		}
	}
}

// hasOtherRights says whether somebody who was let in has other rights by now: signed out, a new
// password, the account taken away, another role or other sites. The browser asks again by itself.
func (s *Kit) hasOtherRights(r *http.Request) bool {
	was, signedIn := access.From(r.Context())
	if !signedIn {
		return false
	}
	now, known := s.Accounts.Known(KeyOf(r))
	return !known || now != was
}

// eventWriter writes frames as events: what changed, or a beat when nothing did.
type eventWriter struct {
	to      io.Writer
	control *http.ResponseController
	version string
	has     string // the frame that the reader says it holds
	sent    *frame // the last one that was written
	out     bytes.Buffer
}

// write sends a frame. Each event carries the frame's id, so that a reader that
// comes back says what it holds; if that is still true a beat is enough.
func (e *eventWriter) write(f *frame) error {
	event := f.change
	if e.sent == nil || e.sent.id != f.before || e.sent.layout != f.layout {
		event = e.event(f)
	}
	e.sent, e.has = f, f.id
	if err := e.control.SetWriteDeadline(time.Now().Add(writeWithin)); err != nil && !errors.Is(err, http.ErrNotSupported) {
		return err
	}
	if _, err := e.to.Write(event); err != nil {
		return err
	}
	return e.control.Flush()
}

// event is what brings this reader from the frame that it holds to another.
func (e *eventWriter) event(f *frame) []byte {
	out := &e.out
	out.Reset()
	var held []part
	if e.sent != nil {
		held = e.sent.parts
	}
	if e.sent == nil || e.sent.layout != f.layout {
		fmt.Fprintf(out, "retry: 1000\nevent: layout\ndata: %s %s\n\n", e.version, f.layout)
	}
	if e.has == f.id {
		held = f.parts
	}
	out.Write(f.since(held))
	return out.Bytes()
}
