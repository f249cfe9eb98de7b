package web

import (
	"context"
	"encoding/binary"
	"fmt"
	"hash/fnv"
	"slices"
	"strconv"
	"strings"
	"time"

	"wetside/rules/access"
	"wetside/sensors/pace"
)

const (
	// pause is the shortest time between two drawings of the live pages. A change
	// after a quiet moment is drawn at once.
	pause = 2 * time.Millisecond
	// rest is how many times as long as drawing for all readers takes nothing is drawn, so that many
	// pages never keep a slow computer busy with drawing alone.
	rest = 9
	// beat is how often every reader hears something, changed or not: with the first change after
	// that long, since rooms tick every second, or a leeway later where none has ticked.
	beat   = time.Second
	leeway = 50 * time.Millisecond
	// mostReaders bounds the live pages open at once.
	mostReaders = 256
)

// topic is a stream of a room, or of all rooms, in a look; page is the pattern of its route. At
// a centre two people who may see other sites read other streams.
type topic struct {
	page, room string
	look       Look
	sees       access.Sites
}

// frame is a whole live page at one moment. It never changes once made.
type frame struct {
	id     string // the same for the same content
	layout string // the parts' names
	parts  []part
	before string // the id of the frame before
	change []byte // the event for whoever holds that one
}

// since is the event for whoever holds the parts given.
func (f *frame) since(held []part) []byte {
	out := make([]byte, 0, 256)
	out = fmt.Appendf(out, "id: %s\ndata: ", f.id)
	name := "event: beat\n"
	for i, p := range f.parts {
		if i < len(held) && held[i] == p || slices.Contains(held, p) {
			continue
		}
		name = "event: parts\n"
		out = append(out, p.html...)
	}
	return append(append([]byte(name), out...), "\n\n"...)
}

// live is a stream that somebody reads: how it was drawn last.
type live struct {
	frame *frame
	drawn map[string]drawn
}

// reader is one open live page. Its queue holds the newest frame alone: a slow
// reader misses frames in between but never the last. The hub closes it at the end.
type reader struct {
	topic  topic
	frames chan *frame
}

// hub draws live pages when the view changes and hands them to their readers.
// One goroutine, in run, owns everything but the channels.
type hub struct {
	view      View
	draw      func(*Drawing, topic)
	calm      func(topic) bool // a page that changes once a second alone
	sightings sightings

	join, leave chan *reader
	ended       chan struct{}
	readers     map[*reader]struct{}
	lives       map[topic]live
}

func newHub(v View, draw func(*Drawing, topic), calm func(topic) bool) *hub {
	h := &hub{view: v, draw: draw, calm: calm, join: make(chan *reader), leave: make(chan *reader), ended: make(chan struct{}),
		readers: map[*reader]struct{}{}, lives: map[topic]live{}, sightings: sightings{rooms: map[string]sighting{}}}
	h.sightings.note(v.Now())
	return h
}

// run feeds the readers until ctx ends.
func (h *hub) run(ctx context.Context) {
	defer h.end()
	changes := h.view.Changes(ctx)
	overdue := time.NewTimer(beat)
	defer overdue.Stop()
	var beaten time.Time // when every reader heard something last
	drawing := pace.Pace{Rest: rest, Most: beat}
	var next time.Time       // when the pages may be drawn again
	var due <-chan time.Time // set while a change waits for the pause to end
	publish := func() {
		began := time.Now()
		all := began.Sub(beaten) >= beat-leeway
		if all {
			beaten = began
			overdue.Reset(beat + leeway)
		}
		h.publish(all)
		drawing.Done(began, time.Now())
		due, next = nil, began.Add(max(pause, drawing.Next().Sub(began)))
	}
	for {
		select {
		case <-ctx.Done():
			return
		case r := <-h.join:
			h.take(r)
		case r := <-h.leave:
			h.drop(r)
		case _, open := <-changes:
			if !open {
				changes = nil
			}
			h.sightings.note(h.view.Now())
			if wait := time.Until(next); wait <= 0 {
				publish()
			} else if due == nil {
				due = time.After(wait)
			}
		case <-due:
			publish()
		case <-overdue.C:
			h.sightings.note(h.view.Now())
			publish()
		}
	}
}

func (h *hub) end() {
	close(h.ended)
	for r := range h.readers {
		close(r.frames)
	}
}

// take adds a reader and gives it its first frame.
func (h *hub) take(r *reader) {
	if len(h.readers) >= mostReaders {
		close(r.frames)
		return
	}
	h.readers[r] = struct{}{}
	h.give(r, h.frame(r.topic))
}

func (h *hub) drop(r *reader) {
	if _, known := h.readers[r]; known {
		delete(h.readers, r)
		close(r.frames)
	}
	for other := range h.readers {
		if other.topic == r.topic {
			return
		}
	}
	delete(h.lives, r.topic)
}

// publish draws each topic that somebody reads once, and gives it to all its readers: where nothing on it
// changed only when all are to hear something.
func (h *hub) publish(all bool) {
	drawn := map[topic]*frame{}
	for r := range h.readers {
		if !all && h.calm(r.topic) {
			continue
		}
		f, done := drawn[r.topic]
		if !done {
			f = h.frame(r.topic)
			drawn[r.topic] = f
		}
		if all || f == nil || f.id != f.before {
			h.give(r, f)
		}
	}
}

// give replaces whatever the reader has not taken yet. A topic that can't be
// drawn any more (its room is gone) ends the reader.
func (h *hub) give(r *reader, f *frame) {
	if f == nil {
		h.drop(r)
		return
	}
	select {
	case <-r.frames:
	default:
	}
	r.frames <- f // there is room: nobody else sends
}

func (h *hub) frame(t topic) *frame {
	last := h.lives[t]
	d := Drawing{before: last.drawn, now: make(map[string]drawn, len(last.drawn))}
	h.draw(&d, t)
	if d.err != nil {
		return nil
	}
	f := &frame{parts: d.parts, layout: layoutOf(d.parts, last.frame)}
	sum, buffer := fnv.New64a(), make([]byte, 0, 8)
	for _, p := range f.parts {
		_, _ = sum.Write(binary.BigEndian.AppendUint64(buffer, p.sum)) // a hash never fails to write
	}
	f.id = strconv.FormatUint(sum.Sum64(), 36)
	if last.frame != nil {
		f.before, f.change = last.frame.id, f.since(last.frame.parts)
	}
	h.lives[t] = live{f, d.now}
	return f
}

// layoutOf names the parts; a page nearly always has those of the frame before.
func layoutOf(parts []part, before *frame) string {
	if before != nil && slices.EqualFunc(parts, before.parts, func(a, b part) bool { return a.id == b.id }) {
		return before.layout
	}
	ids := make([]string, len(parts))
	for i, p := range parts {
		ids[i] = p.id
	}
	return strings.Join(ids, " ")
}

// enter opens a live page; ok is false once the server is closing or ctx has ended.
func (h *hub) enter(ctx context.Context, t topic) (r *reader, ok bool) {
	r = &reader{topic: t, frames: make(chan *frame, 1)}
	select {
	case h.join <- r:
		return r, true
	case <-h.ended:
	case <-ctx.Done():
	}
	return nil, false
}

// exit closes a live page from the reader's side.
func (h *hub) exit(r *reader) {
	select {
	case h.leave <- r:
	case <-h.ended:
	}
}
