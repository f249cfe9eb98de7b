package dashboard

import (
	"bytes"
	"errors"
	"fmt"
	"io"
	"net/http"
	"time"

	"wetside/rules/access"
)

// writeWithin is how long a reader may take to accept what is sent; a slower one is cut off.
const writeWithin = 5 * time.Second

const (
	boardTopic  = "board"
	probesTopic = "probes"
	indexTopic  = "index"
	clockTopic  = "clock"
	airTopic    = "air"
	alarmsTopic = "alarms"
)

func (s *Server) boardEvents(w http.ResponseWriter, r *http.Request, in visit) {
	s.stream(w, r, topic{boardTopic, in.snap.Room, red})
}

func (s *Server) probesEvents(w http.ResponseWriter, r *http.Request, in visit) {
	s.stream(w, r, topic{probesTopic, in.snap.Room, lookOf(r)})
}

func (s *Server) indexEvents(w http.ResponseWriter, r *http.Request) {
	s.stream(w, r, topic{indexTopic, "", red})
}

// stream sends a live page as server-sent events until either side ends.
func (s *Server) stream(w http.ResponseWriter, r *http.Request, t topic) {
	reader, ok := s.hub.enter(r.Context(), t)
	if !ok {
		s.fail(w, r, failure{http.StatusServiceUnavailable, s.words.Say("error.closing")})
		return
	}
	defer s.hub.exit(reader)
	w.Header().Set("Content-Type", "text/event-stream")
	out := eventWriter{to: w, control: http.NewResponseController(w), version: s.assets.version,
		has: r.Header.Get("Last-Event-ID"), sent: map[string]string{}}
	for {
		select {
		case <-r.Context().Done():
			return
		case f, open := <-reader.frames:
			if !open || s.signedOut(r) || out.write(f) != nil {
				return
			}
		}
	}
}

// signedOut says whether somebody who was let in has lost the right since: by signing
// out, by a new password, or because a keeper took the account away.
func (s *Server) signedOut(r *http.Request) bool {
	if _, was := access.From(r.Context()); !was {
		return false
	}
	_, still := s.door.Known(keyOf(r))
	return !still
}

// eventWriter writes frames as events: what changed, or a beat when nothing did.
type eventWriter struct {
	to      io.Writer
	control *http.ResponseController
	version string
	has     string // the frame that the reader holds already
	layout  string
	sent    map[string]string // what was sent last, by part
	fresh   []part            // of the frame at hand
	out     bytes.Buffer      // likewise
}

// write sends a frame. Each event carries the frame's id, so that a reader that
// comes back says what it holds; if that is still true a beat is enough.
func (e *eventWriter) write(f *frame) error {
	out := &e.out
	out.Reset()
	if e.layout != f.layout {
		e.layout = f.layout
		fmt.Fprintf(out, "retry: 1000\nevent: layout\ndata: %s %s\n\n", e.version, f.layout)
	}
	if fresh := e.newParts(f); len(fresh) == 0 || e.has == f.id {
		fmt.Fprintf(out, "event: beat\nid: %s\ndata:\n\n", f.id)
	} else {
		fmt.Fprintf(out, "event: parts\nid: %s\ndata: ", f.id)
		for _, p := range fresh {
			out.WriteString(p.html)
		}
		out.WriteString("\n\n")
	}
	e.has = f.id
	if err := e.control.SetWriteDeadline(time.Now().Add(writeWithin)); err != nil && !errors.Is(err, http.ErrNotSupported) {
		return err
	}
	if _, err := e.to.Write(out.Bytes()); err != nil {
		return err
	}
	return e.control.Flush()
}

// newParts gives the parts that differ from what was sent, and takes them for sent.
func (e *eventWriter) newParts(f *frame) []part {
	e.fresh = e.fresh[:0]
	for _, p := range f.parts {
		if e.sent[p.id] != p.html {
			e.sent[p.id] = p.html
			e.fresh = append(e.fresh, p)
		}
	}
	return e.fresh
}
