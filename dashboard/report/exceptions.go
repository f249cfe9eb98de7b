package report

import (
	"slices"
	"strings"
	"time"

	"wetside/rules/ventilation"
	"wetside/sensors/quantity/phrase"
)

// Evening is one session from its beginning to its end, by how its air was, with the times at which
// alarms were raised; all in the zone of the place.
type Evening struct {
	Title    string
	From, To time.Time
	Parts    []EveningPart
	Alarms   []time.Time
}

// EveningPart is a time in which the air was in one way: one of [partKinds].
type EveningPart struct {
	Kind     string
	From, To time.Time
}

func (Evening) block() {}

// mostPictured is how many sessions have a picture; the others are in the table of sessions.
const mostPictured = 24

// needAttention are the sessions in which a tray stood open without proven airflow.
func (d Data) needAttention() []Session {
	return slices.DeleteFunc(slices.Clone(d.Sessions), func(s Session) bool { return s.Unproven == 0 })
}

// exceptionsPart lays out the sessions that need attention.
type exceptionsPart struct{ composer }

// blocks show each session that needs attention, with what happened and what was done.
func (d exceptionsPart) blocks() []Block {
	list := d.needAttention()
	if len(list) == 0 {
		return []Block{Text("No session needs attention.")}
	}
	blocks := []Block{Text("Each session from its beginning to its end: full where airflow was proven, hatched where it was too low or " +
		"stopped, dashed where it is not known. Trays may have been covered meanwhile: the minutes count uncovered trays alone.")}
	for _, s := range list[:min(len(list), mostPictured)] {
		e := d.evening(s)
		e.Title = strings.Join(slices.DeleteFunc([]string{d.on(s), titled(s), d.unprovenOf(s)}, func(t string) bool { return t == "" }), " · ")
		blocks = append(blocks, e, Text(d.happened(s)))
	}
	if more := len(list) - mostPictured; more > 0 {
		blocks = append(blocks, Text(d.say("%s more are under Sessions and their air.", counted(more, "session"))))
	}
	return blocks
}

// on is the day of a session, with its room where there are several.
func (d composer) on(s Session) string {
	if len(d.Rooms) < 2 {
		return d.date(s.Begun)
	}
	return d.date(s.Begun) + ", " + d.roomName(s.Room)
}

// unprovenOf says for how long the airflow of a session was not proven, and in which way.
func (d composer) unprovenOf(s Session) string {
	var parts []string
	a := s.Air()
	if a.Low > 0 {
		parts = append(parts, d.say("too low or stopped for %s", Hours(a.Low)))
	}
	if a.Unknown > 0 {
		parts = append(parts, d.say("not known for %s", Hours(a.Unknown)))
	}
	return phrase.Capital(strings.Join(parts, "; "))
}

// evening gathers how the air was in a session; a time of which the record says nothing is not known.
func (d exceptionsPart) evening(s Session) Evening {
	e := Evening{From: s.Begun.In(d.zone()), To: s.Ended.In(d.zone())}
	if s.Running {
		e.To = s.AsOf.In(d.zone())
	}
	at := e.From
	add := func(kind string, to time.Time) {
		if to.After(at) {
			e.Parts, at = append(e.Parts, EveningPart{kind, at, to.In(d.zone())}), to.In(d.zone())
		}
	}
	kinds := partKinds()
	states := slices.DeleteFunc(slices.Clone(d.AirStates), func(a AirState) bool { return a.Room != s.Room })
	for i, state := range states {
		to := e.To
		if i+1 < len(states) && states[i+1].From.Before(to) {
			to = states[i+1].From
		}
		if state.Stopped && e.proven()+min(to.Sub(at), to.Sub(state.From)) > s.FlowProven+time.Minute { // it did not last as long as was counted
			to = d.lastRead(s, state.From, to)
		}
		if !state.From.Before(e.To) || !to.After(e.From) {
			continue
		}
		add(kinds[2], state.From)
		switch ventilation.Verdict(state.Verdict) {
		case ventilation.IsProven:
			add(kinds[0], to)
		case ventilation.IsNot:
			add(kinds[1], to)
		}
	}
	add(kinds[2], e.To)
	for _, a := range d.alarmsOf(s) {
		e.Alarms = append(e.Alarms, a.Raised.In(d.zone()))
	}
	return e
}

// proven is for how long the airflow was proven.
func (e Evening) proven() (sum time.Duration) {
	for _, p := range e.Parts {
		if p.Kind == partKinds()[0] {
			sum += p.To.Sub(p.From)
		}
	}
	return sum
}

// lastRead is how long a state lasted for certain in which the program stopped: up to the last minute of the
// session with a reading of the airflow.
func (d exceptionsPart) lastRead(s Session, from, end time.Time) time.Time {
	last := from
	for _, m := range d.Minutes {
		if m.Session == s.Number && m.Readings > 0 && m.At.After(last.Add(-time.Minute)) && m.At.Before(end) {
			last = m.At.Add(time.Minute)
		}
	}
	return last
}

// alarmsOf are the alarms that were raised in a session.
func (d Data) alarmsOf(s Session) (list []Alarm) {
	for _, a := range d.Alarms {
		if a.Room == s.Room && !a.Raised.Before(s.Begun) && !a.Raised.After(s.Ended) {
			list = append(list, a)
		}
	}
	return list
}

// eveningHigh is the height of the picture of a session, in heights of a letter.
const eveningHigh = 6.2

// draw draws the session as a strip in a box of the given breadth; letters are as high as text says.
func (e Evening) draw(c canvas, size place, text float64) {
	top, high := 1.8*text, 2.4*text
	x := func(t time.Time) float64 { return size.x * t.Sub(e.From).Seconds() / e.To.Sub(e.From).Seconds() }
	for _, p := range e.Parts {
		c.box(p.Kind, place{x(p.From), top}, place{max(x(p.To)-x(p.From), text/4), high})
	}
	free := 0.0
	mark := func(t time.Time, y float64, words string) {
		half := 0.3 * text * float64(len(words))
		at := min(max(x(t), half), size.x-half)
		if at-half >= free {
			c.words(place{at, y}, "middle", words)
			free = at + half + text
		}
	}
	for _, a := range e.Alarms {
		c.line("lowest", place{x(a), 1.1 * text}, place{x(a), top})
		mark(a, 0.8*text, phrase.Say("alarm %s", a.Format("15:04")).String())
	}
	free = 0
	y, m, day := e.From.Date()
	for _, hour := range slices.Concat([]time.Time{e.From}, hours(time.Date(y, m, day, e.From.Hour()+1, 0, 0, 0, e.From.Location()), e.To)) {
		c.line("axis", place{x(hour), top + high}, place{x(hour), top + high + text/2})
		mark(hour, top+high+1.6*text, hour.Format("15:04"))
	}
}

// hours are the whole hours from a first one until an end, with the end.
func hours(at, end time.Time) (list []time.Time) {
	for ; at.Before(end.Add(-15 * time.Minute)); at = at.Add(time.Hour) {
		list = append(list, at)
	}
	return append(list, end)
}
