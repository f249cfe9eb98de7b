// Package past works out what the record book and the samples tell of times gone by: the
// settings over time, the sessions, the life of every alarm, and what readings come to by
// the minute. Everything goes in as values, in the order in which it was recorded; what
// the rules of today do live, they and this package do by the same functions.
package past

import (
	"bytes"
	"encoding/json"
	"iter"
	"maps"
	"slices"
	"sort"
	"time"

	"wetside/rules"
	"wetside/rules/alarm"
	"wetside/rules/coverage"
	"wetside/rules/record"
)

// Kinds lists the kinds of record that a [Fold] reads.
func Kinds() []string {
	return append(append(settingsKinds(), rules.AlarmKinds()...), rules.AlarmSeenBy, rules.SessionPhase, rules.SessionCounts, rules.AirState)
}

// Fold is what the records of a site come to. The zero Fold has read none.
type Fold struct {
	Settings Timeline
	alarms   rules.AlarmBook
	lives    map[string]*alarm.Lives // by room
	rooms    []string
	evenings []*Evening // by their beginning
	known    map[beginning]*Evening
	waiting  map[string]record.Record // by room: counts of a session that later ones may replace
	air      map[string][]AirState    // by room
	last     uint64                   // number of the last record
	settings []record.Record
}

// beginning tells sessions apart.
type beginning struct {
	room string
	at   int64
}

// Entry is a record whose content was read as far as that needs no other record, so that
// records are read side by side and taken in their order.
type Entry struct {
	record.Record
	event *rules.Event // nil where the content holds none, or is not read yet
	takes bool
}

// Read reads a record for [Fold.Take].
func Read(r record.Record) Entry {
	e := Entry{Record: r, takes: true}
	switch r.Kind {
	case rules.AlarmChange, rules.AlarmsArmed, rules.SessionPhase, rules.AirState:
		var event rules.Event
		if json.Unmarshal(r.Content, &event) == nil {
			e.event = &event
		}
	case rules.SessionCounts, rules.AlarmSeenBy: // most are replaced by later ones unread
	default:
		e.takes = slices.Contains(settingsKinds(), r.Kind)
	}
	return e
}

// Last is the number of the record that was read last.
func (f *Fold) Last() uint64 { return f.last }

// Apply reads one record on. A record that no longer makes sense stays in the book and
// is passed over.
func (f *Fold) Apply(r record.Record) error { return f.Take(Read(r)) }

// Take goes on by the next record; one of a kind that a fold does not read changes nothing.
func (f *Fold) Take(e Entry) error {
	if !e.takes {
		return nil
	}
	f.last = e.Number
	switch e.Kind {
	case rules.AlarmChange, rules.AlarmsArmed:
		if e.event == nil {
			return nil
		}
		if t, is := f.alarms.Take(e.Record, *e.event); is {
			f.livesOf(e.Room).Step(t)
		}
	case rules.AlarmSeenBy:
		var s rules.NameSeer
		if json.Unmarshal(e.Content, &s) == nil {
			f.livesOf(e.Room).Name(alarm.Seer{ID: s.Alarm, Raised: s.Raised, Person: s.Saw, At: e.At})
		}
	case rules.SessionCounts:
		f.counts(e.Record)
	case rules.SessionPhase:
		f.count(e.Room)
		f.session(e)
	case rules.AirState:
		f.airState(e)
	default:
		e.Content = bytes.Clone(e.Content) // what else stood in the same text goes
		f.settings = append(f.settings, e.Record)
		return f.Settings.apply(e.Record)
	}
	return nil
}

func (f *Fold) livesOf(room string) *alarm.Lives {
	if f.lives == nil {
		f.lives = map[string]*alarm.Lives{}
	}
	l, known := f.lives[room]
	if !known {
		l = &alarm.Lives{}
		f.lives[room], f.rooms = l, append(f.rooms, room)
	}
	return l
}

// counts puts the counts of a session aside: those of the same session and phase that come
// after them replace them, and of ten years that is nearly all.
func (f *Fold) counts(r record.Record) {
	if was, waits := f.waiting[r.Room]; waits && !replaces(r, was) {
		f.count(r.Room)
	}
	if f.waiting == nil {
		f.waiting = map[string]record.Record{}
	}
	f.waiting[r.Room] = r
}

// replaces says whether counts are sure to be of the same session in the same phase as others.
func replaces(counts, others record.Record) bool {
	for _, key := range []string{`"phase":"`, `"begun":"`, `"since":"`} {
		a, once := only(counts.Content, key)
		b, onceToo := only(others.Content, key)
		if !once || !onceToo || !bytes.Equal(a, b) {
			return false
		}
	}
	return true
}

// only is the text that a key of a JSON text has; false unless the key is there just once.
func only(content json.RawMessage, key string) ([]byte, bool) {
	_, after, found := bytes.Cut(content, []byte(key))
	if !found || bytes.Contains(after, []byte(key)) {
		return nil, false
	}
	text, _, closed := bytes.Cut(after, []byte{'"'})
	return text, closed
}

// count reads the counts that were put aside of a room.
func (f *Fold) count(room string) {
	r, waits := f.waiting[room]
	if !waits {
		return
	}
	delete(f.waiting, room)
	e := Entry{Record: r, event: &rules.Event{}}
	if json.Unmarshal(r.Content, e.event) == nil {
		f.session(e)
	}
}

func (f *Fold) session(e Entry) {
	if e.event == nil || e.event.Session == nil || e.event.Session.Begun.IsZero() {
		return
	}
	now := *e.event.Session
	key := beginning{e.Room, now.Begun.UnixNano()}
	s, known := f.known[key]
	if !known {
		s = &Evening{Room: e.Room}
		if f.known == nil {
			f.known = map[beginning]*Evening{}
		}
		f.known[key] = s
		at := sort.Search(len(f.evenings), func(i int) bool { return f.evenings[i].Last.Begun.After(now.Begun) })
		f.evenings = slices.Insert(f.evenings, at, s)
	}
	s.Record = e.Number
	s.add(now)
}

// Evenings gives the sessions that may touch a time by their beginning, as they are known at a moment, each with its
// place among all.
func (f *Fold) Evenings(over coverage.Span, now time.Time) iter.Seq2[int, Evening] {
	for _, room := range slices.Sorted(maps.Keys(f.waiting)) {
		f.count(room)
	}
	return func(yield func(int, Evening) bool) {
		for i, e := range f.evenings {
			if !e.Last.Begun.Before(over.To) || !e.Last.Phase.Running() && e.Last.Since.Before(over.From) {
				continue // most of the years: a session is long, and copied only if it is asked for
			}
			known := *e
			known.Known, known.Settled = now, f.Settings.At(e.Last.Begun)
			if !yield(i, known) {
				return
			}
		}
	}
}

// RoomAlarm is one raise of an alarm in a room.
type RoomAlarm struct {
	Room string
	alarm.Life
}

// Alarms gives every raise of an alarm that was up in some part of a time, as known at a
// moment, in the order in which they came.
func (f *Fold) Alarms(over coverage.Span, asOf time.Time) []RoomAlarm {
	type raise struct {
		room string
		*alarm.Life
	}
	var found []raise
	for _, room := range f.rooms {
		for _, l := range f.lives[room].All {
			raised, ended := l.Raised.At.Wall, l.Ended
			if ended.After(asOf) {
				ended = time.Time{}
			}
			if raised.Before(asOf) && touches(over, raised, ended) {
				found = append(found, raise{room, l})
			}
		}
	}
	slices.SortStableFunc(found, func(a, b raise) int { return a.Raised.At.Wall.Compare(b.Raised.At.Wall) })
	list := make([]RoomAlarm, len(found)) // a life is long: ten years of them are moved once
	for i, l := range found {
		list[i] = RoomAlarm{l.room, l.AsOf(asOf)}
	}
	return list
}

// Up gives the alarms of a room that people were told of at a moment, as known then.
func (f *Fold) Up(room string, at time.Time) []RoomAlarm {
	var list []RoomAlarm
	lives, known := f.lives[room]
	if !known {
		return nil
	}
	for _, l := range lives.All {
		if l.Raised.At.Wall.After(at) || !l.Ended.IsZero() && !l.Ended.After(at) {
			continue
		}
		list = append(list, RoomAlarm{room, l.AsOf(at)})
	}
	return list
}

// touches says whether what lasted from from to to, still lasting when that is zero, lies in
// part in a span.
func touches(s coverage.Span, from, to time.Time) bool {
	return from.Before(s.To) && (to.IsZero() || to.After(s.From) || !from.Before(s.From))
}

// RoomAside is an alarm of a room that a person put aside.
type RoomAside struct {
	Room string
	alarm.Aside
}

// Asides gives every alarm that was put aside for some part of a time, as known at a moment.
func (f *Fold) Asides(over coverage.Span, asOf time.Time) []RoomAside {
	var list []RoomAside
	for _, room := range f.rooms {
		for _, a := range f.lives[room].Apart {
			out := RoomAside{room, *a}
			if out.Back.After(asOf) {
				out.Back = time.Time{}
			}
			if at := a.Since.At.Wall; at.Before(asOf) && touches(over, at, out.Back) {
				list = append(list, out)
			}
		}
	}
	slices.SortStableFunc(list, func(a, b RoomAside) int { return a.Since.At.Wall.Compare(b.Since.At.Wall) })
	return list
}
