package simroom

import (
	"fmt"
	"math"
	"math/rand/v2"
	"strings"
	"time"
)

const (
	// tick is how often the probes speak.
	tick = time.Second
	// slowly is how many times less often a slow line speaks, lateBy how late it answers.
	slowly = 10
	lateBy = 3 * time.Second
	// mostLate is how many answers may be on their way on a slow line.
	mostLate = 16
	// endless is a trouble that lasts until it is undone.
	endless = time.Duration(math.MaxInt64)
)

// cause is a trouble without its length: what is wrong with what.
type cause struct{ verb, target string }

type wire struct {
	name  string
	plug  plug
	speak func(values readings, fresh bool) []byte // nil for a line that answers
	in    bool
	fresh bool   // it was pulled and nobody has heard it since
	asked []byte // part of a request
	late  []lateAnswer
}

type lateAnswer struct {
	due  time.Duration
	data []byte
}

// state is all that changes in the room. One goroutine owns it.
type state struct {
	model  *model
	probes []*probe
	wires  []*wire
	dice   *rand.Rand

	elapsed  time.Duration // of the ticks
	troubles map[cause]time.Duration
	events   []Event
	next     int           // the event to come
	today    time.Duration // when this day's events are counted from
}

// isOn says whether a trouble is under way.
func (s *state) isOn(verb, target string) bool { return s.elapsed < s.troubles[cause{verb, target}] }

// do begins a trouble or does an act.
func (s *state) do(t Trouble) error {
	switch t.verb {
	case verbStart:
		s.model.fan.start(t.span)
	case verbStop:
		s.model.fan.stop()
	case verbClear:
		delete(s.troubles, cause{verbBlock, t.target})
	case verbFill:
		s.model.each(traysOf(t.target), (*model).pour)
	case verbEmpty:
		s.model.each(traysOf(t.target), func(m *model, i int) { m.trays[i] = tray{} })
	case verbCover, verbUncover:
		s.model.each(traysOf(t.target), func(m *model, i int) { m.trays[i].covered = t.verb == verbCover })
	case verbPeople:
		s.model.people = t.count
	case verbJacket:
		s.model.trays[trayOf(t.target)].warm()
	case "":
		return fmt.Errorf("nothing to do: make a trouble with ParseTrouble")
	default:
		s.begin(t)
	}
	return nil
}

// begin notes until when a trouble lasts.
func (s *state) begin(t Trouble) {
	until := endless
	if t.span > 0 {
		until = s.elapsed + t.span
	}
	s.troubles[cause{t.verb, t.target}] = until
	s.replug()
}

// traysOf are the trays that a trouble is about: one, by its probe, or all of them.
func traysOf(target string) []int {
	if target == theTrays {
		return everyTray()
	}
	return []int{trayOf(target)}
}

func trayOf(id string) int {
	return map[string]int{"DEV": developer, "STP": stopBath, "FX1": fixer1, "FX2": fixer2}[id]
}

// replug pulls and inserts plugs as the troubles have it. A plug that can't be
// inserted now is tried again with the next tick.
func (s *state) replug() {
	for _, w := range s.wires {
		pulled := s.isOn(verbPull, w.name)
		switch {
		case pulled && w.in:
			w.plug.pull()
			w.in, w.asked, w.late = false, nil, nil
		case !pulled && !w.in:
			w.in = w.plug.insert() == nil
			w.fresh = w.in
		}
	}
}

// pass lets one tick pass.
func (s *state) pass() {
	s.elapsed += tick
	s.happen()
	s.replug()
	s.model.fan.tripped = s.isOn(verbTrip, theFan)
	s.model.fan.blocked = s.isOn(verbBlock, theMakeUp)
	s.model.hood = hood{s.isOn(verbBlock, hoodLeft), s.isOn(verbBlock, hoodRight)}
	s.model.Step(tick)
	for _, p := range s.probes {
		p.feel(s.truthAt(p), tick)
		p.say(s.dice, faults{s.isOn(verbFreeze, p.id), s.isOn(verbHush, p.id), s.isOn(verbStick, p.id), s.isOn(verbShift, p.id)})
	}
}

// truthAt is the truth in the place where a probe is: its own, the air when it was
// lifted, or that of the probe with which it was exchanged.
func (s *state) truthAt(p *probe) float64 {
	if s.isOn(verbLift, p.id) {
		return s.model.air.heat.level
	}
	for c := range s.troubles {
		if a, b, _ := strings.Cut(c.target, "-"); c.verb == verbSwap && s.isOn(c.verb, c.target) {
			switch p.id {
			case a:
				return bathOf(trayOf(b))(s.model)
			case b:
				return bathOf(trayOf(a))(s.model)
			}
		}
	}
	return p.truth(s.model)
}

// happen does the events whose time has come.
func (s *state) happen() {
	for len(s.events) > 0 && s.today+s.events[s.next].At <= s.elapsed {
		_ = s.do(s.events[s.next].Trouble) // Start has refused events that are none
		if s.next++; s.next == len(s.events) {
			s.next, s.today = 0, s.today+day
		}
	}
}

func (s *state) values() readings {
	values := make(readings, len(s.probes))
	for _, p := range s.probes {
		values[p.id] = p.said
	}
	return values
}

// speak lets each line say what it has to say in this second.
func (s *state) speak() {
	values := s.values()
	for _, w := range s.wires {
		w.asked = nil // half a request does not wait for its other half for a second
		if s.isOn(verbFlood, w.name) {
			w.plug.say(flood(s.dice))
			continue
		}
		s.answerLate(w)
		silent := s.isOn(verbSlow, w.name) && s.elapsed/tick%slowly != 0
		if w.speak != nil && !silent {
			heard := s.send(w, w.speak(values, w.fresh))
			w.fresh = w.fresh && !heard
		}
	}
}

// send says a frame, unless a trouble keeps or spoils it, and tells whether
// anybody listened.
func (s *state) send(w *wire, frame []byte) bool {
	if len(frame) == 0 || s.isOn(verbSilence, w.name) {
		return false
	}
	if s.isOn(verbGarble, w.name) {
		frame = garble(frame, s.dice)
	}
	return w.plug.say(frame)
}

// hear takes bytes that were sent to a line that answers.
func (s *state) hear(h heard) {
	for _, w := range s.wires {
		if w.name != h.line {
			continue
		}
		for w.asked = append(w.asked, h.data...); len(w.asked) >= requestLength; w.asked = w.asked[requestLength:] {
			s.reply(w, answerDuct(w.asked[:requestLength], s.values()))
		}
	}
}

func (s *state) reply(w *wire, answer []byte) {
	if s.isOn(verbSlow, w.name) {
		if len(w.late) == mostLate {
			return
		}
		w.late = append(w.late, lateAnswer{s.elapsed + lateBy, answer})
		return
	}
	s.send(w, answer)
}

func (s *state) answerLate(w *wire) {
	for len(w.late) > 0 && w.late[0].due <= s.elapsed {
		s.send(w, w.late[0].data)
		w.late = w.late[1:]
	}
}
