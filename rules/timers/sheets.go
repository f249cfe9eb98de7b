package timers

import (
	"slices"
	"time"

	"wetside/chem"
	"wetside/sensors/quantity/phrase"
)

// Line lists the stages behind the developer for prints on a paper, each with its time now or
// the reason why there is none.
type Line func(chem.Paper) []chem.StageTime

// place is where a sheet is behind the developer; the zero place is in the developer.
type place struct {
	stage chem.StageTime
	since time.Duration
}

// washing are the prints of one paper in the wash. A print from the fixer soils the water:
// the time counts from the last that went in (common practice).
type washing struct {
	paper  chem.Paper
	sheets int
	place
}

// before is what the acts on sheets behind the developer change, as it was.
type before struct {
	entries []entry
	wash    []washing
	paper   chem.Paper
}

// Follow takes every sheet on whose time in a bath is up: out of the developer into the stop
// bath, and so on into the wash. The time in a bath is that of the moment at which the sheet
// goes in, and it counts the draining, as is common practice.
func (s Set) Follow(now time.Duration, line Line) Set {
	s.entries = slices.Clone(s.entries)
	for i := range s.entries {
		s.entries[i].follow(now, line)
	}
	for i := 0; i < len(s.entries); i++ {
		if e := s.entries[i]; e.at.stage.Stage == chem.Washing {
			s.wash = s.washed(e)
			s.entries = slices.Delete(s.entries, i, i+1)
			i--
		}
	}
	s.wash = slices.DeleteFunc(slices.Clone(s.wash), func(w washing) bool {
		in := now - w.since
		return w.stage.Time > 0 && in > w.stage.Time+keptOver || in > keptUp
	})
	return s
}

func (e *entry) follow(now time.Duration, line Line) {
	if e.paper == 0 {
		return
	}
	v := e.timer.View()
	if e.at.stage.Stage == chem.Developing && v.State == chem.TimerDone {
		e.enter(now-v.Over, line)
	}
	for e.at.stage.Stage != chem.Developing && e.at.stage.Stage != chem.Washing && e.at.stage.Time > 0 && now-e.at.since >= e.at.stage.Time {
		if !e.enter(e.at.since+e.at.stage.Time, line) {
			return
		}
	}
}

// enter takes a sheet into the next bath of its line; false where there is none.
func (e *entry) enter(at time.Duration, line Line) bool {
	times := line(e.paper)
	next := slices.IndexFunc(times, func(t chem.StageTime) bool { return t.Stage > e.at.stage.Stage })
	if next < 0 {
		return false
	}
	e.at = place{times[next], at}
	return true
}

func (s Set) washed(e entry) []washing {
	wash := slices.Clone(s.wash)
	at := slices.IndexFunc(wash, func(w washing) bool { return w.paper == e.paper })
	if at < 0 {
		return append(wash, washing{e.paper, 1, e.at})
	}
	wash[at].sheets++
	wash[at].place = e.at
	return wash
}

// choose sets the paper of the sheets that are started from now on.
func (s Set) choose(p chem.Paper) (Set, error) {
	if p > chem.FibreDoubleWeight {
		return s, phrase.Errorf("there is no such paper: reload the page")
	}
	s.paper = p
	return s, nil
}

// Expect takes the paper of work that is booked, once for each: whoever chooses another paper
// afterwards knows better. No work, or one without a paper, changes nothing.
func (s Set) Expect(work string, p chem.Paper) Set {
	if work != "" && work != s.told && p != 0 {
		s.told, s.paper = work, p
	}
	return s
}

// again begins the time of a sheet in its bath anew: it went in only now.
func (s Set) again(number int, now time.Duration) (Set, error) {
	return s.moved(number, func(e *entry) bool {
		e.at.since = now
		return e.at.stage.Stage != chem.Developing
	})
}

// next takes a sheet on into the next bath now.
func (s Set) next(number int, now time.Duration, line Line) (Set, error) {
	return s.moved(number, func(e *entry) bool { return e.paper != 0 && e.enter(now, line) })
}

func (s Set) moved(number int, move func(*entry) bool) (Set, error) {
	at := s.index(number)
	if at < 0 {
		return s, ErrNoTimer
	}
	s.entries = slices.Clone(s.entries)
	if !move(&s.entries[at]) {
		return s, phrase.Errorf("this sheet is in no bath behind the developer: look at the timers and press again")
	}
	return s, nil
}

// takeOut ends the washing of the prints on a paper.
func (s Set) takeOut(p chem.Paper) (Set, error) {
	at := slices.IndexFunc(s.wash, func(w washing) bool { return w.paper == p })
	if at < 0 {
		return s, phrase.Errorf("no print on this paper is in the wash any more")
	}
	s.wash = slices.Delete(slices.Clone(s.wash), at, at+1)
	return s, nil
}

// view is what the timer of a sheet behind the developer shows.
func (p place) view(now time.Duration) chem.TimerView {
	in := max(0, now-p.since)
	v := chem.TimerView{State: chem.TimerRunning, Ran: in, Following: chem.FollowingBath}
	switch {
	case p.stage.Time <= 0:
		v.Following, v.Notice = chem.CountingUp, phrase.Say("no time: %s", p.stage.Refusal)
	case in >= p.stage.Time:
		v.State, v.Over = chem.TimerDone, in-p.stage.Time
	default:
		v.Left = p.stage.Time - in
	}
	return v
}
