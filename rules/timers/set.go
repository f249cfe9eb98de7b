// Package timers holds the development timers that run side by side in one room:
// which there are, what a press does to them, and which press can be taken back.
// Each is a [wetside/chem.Timer], which follows its bath.
//
// It is pure: presses, temperatures and monotonic times go in, a new [Set] comes out.
package timers

import (
	"slices"
	"time"

	"wetside/chem"
	"wetside/sensors/quantity/phrase"
)

const (
	// Most is how many timers run side by side at most: as many as there are number keys.
	Most = 9
	// undoWithin is how long the last press can be taken back.
	undoWithin = time.Minute
	// keptOver is how long a timer stays that has come to its end and that nobody puts away.
	keptOver = 30 * time.Minute
	// keptUp is how long a timer that only counts up may run.
	keptUp = 3 * time.Hour
)

// Act is what a press asks for.
type Act string

// The acts of a press.
const (
	Start  Act = "start"  // a sheet goes into a bath: a new timer runs
	Pause  Act = "pause"  // it was taken out or dropped
	Resume Act = "resume" // it is in the bath again
	Remove Act = "remove" // it is done: the timer is put away
	Undo   Act = "undo"   // the last press was a mistake
	Choose Act = "paper"  // the sheets from now on are on this paper
	Again  Act = "again"  // a sheet behind the developer went into its bath only now
	Next   Act = "next"   // it went on into the next bath now
	Washed Act = "washed" // the prints on a paper are out of the wash
)

// Press is one press of a button or key.
type Press struct {
	Act    Act
	Bath   string // of a start
	Number int    // of the timer, for a pause, resume, removal or another bath
	Paper  chem.Paper
	// Seen is the [View.Revision] that whoever pressed had in sight.
	Seen int
}

// Set is the timers of a room. It is a value: every method gives a new one. The
// zero Set holds no timer.
type Set struct {
	entries  []entry
	revision int
	last     Press
	started  int // number of the timer that the last press started
	pressed  time.Duration
	away     *entry // put away by the last press
	open     bool   // the last press can be taken back
	paper    chem.Paper
	told     string // the work whose paper was taken
	wash     []washing
	was      before // the last press on sheets behind the developer
}

type entry struct {
	number int
	bath   string
	timer  chem.Timer
	// slept is how much longer than it knows of the timer may have run.
	slept time.Duration
	// paper of the sheet; none where nobody has chosen one, and then only the developer is timed.
	paper chem.Paper
	at    place
}

// Errors of a press that can't be carried out.
var (
	ErrOverlap = phrase.Errorf("another button was pressed a moment before: look at the timers and press again")
	ErrNoTimer = phrase.Errorf("that timer was cleared: look at the timers that run")
	ErrFull    = phrase.Errorf("%d timers run already: clear one first", Most)
	ErrNoUndo  = phrase.Errorf("there is nothing to undo: the last press can be undone for one minute")
)

// Known is what a press rests on: the inputs of the bath, for a start alone, and the line
// behind the developer.
type Known struct {
	Inputs chem.Inputs
	Line   Line
}

// Press carries out a press at a monotonic time. The same press that comes twice, as from a
// button that bounces, acts once.
func (s Set) Press(p Press, in Known, now time.Duration) (Set, error) {
	if p == s.last && s.revision > 0 {
		return s, nil
	}
	if (p.Act == Start || p.Act == Undo) && p.Seen != s.revision {
		return s, ErrOverlap
	}
	after, err := s.act(p, in, now)
	if err != nil {
		return s, err
	}
	after.revision++
	after.last, after.pressed, after.open = p, now, p.Act != Undo
	return after, nil
}

func (s Set) act(p Press, in Known, now time.Duration) (Set, error) {
	was := before{s.entries, s.wash, s.paper}
	switch p.Act {
	case Start:
		return s.start(p.Bath, in.Inputs, now)
	case Pause:
		return s.change(p.Number, func(c chem.Timer) (chem.Timer, error) { return c.Pause(now) })
	case Resume:
		return s.change(p.Number, func(c chem.Timer) (chem.Timer, error) { return c.Resume(now) })
	case Remove:
		return s.remove(p.Number)
	case Undo:
		return s.undo(now)
	}
	s.was = was
	switch p.Act {
	case Choose:
		return s.choose(p.Paper)
	case Again:
		return s.again(p.Number, now)
	case Next:
		return s.next(p.Number, now, in.Line)
	case Washed:
		return s.takeOut(p.Paper)
	}
	return s, phrase.Errorf("a timer can't %q: reload the page", p.Act)
}

func (s Set) start(bath string, in chem.Inputs, now time.Duration) (Set, error) {
	number := s.free()
	if number == 0 {
		return s, ErrFull
	}
	c, err := chem.NewTimer(in, now)
	if chem.IsRefusal(err) {
		c, err = chem.NewPlainTimer(phrase.Say("%v", err), now), nil // the sheet goes in all the same
	}
	if err != nil {
		return s, err
	}
	if c, err = c.Start(now); err != nil {
		return s, err
	}
	s.started = number
	return s.with(entry{number: number, bath: bath, timer: c, paper: s.paper}), nil
}

// with adds a timer in the order of the numbers.
func (s Set) with(e entry) Set {
	s.entries = append(slices.Clone(s.entries), e)
	slices.SortFunc(s.entries, func(a, b entry) int { return a.number - b.number })
	return s
}

// free is the smallest number that no timer has, zero when all are taken.
func (s Set) free() int {
	for n := 1; n <= Most; n++ {
		if s.index(n) < 0 {
			return n
		}
	}
	return 0
}

func (s Set) index(number int) int {
	return slices.IndexFunc(s.entries, func(e entry) bool { return e.number == number })
}

func (s Set) change(number int, do func(chem.Timer) (chem.Timer, error)) (Set, error) {
	at := s.index(number)
	if at < 0 {
		return s, ErrNoTimer
	}
	c, err := do(s.entries[at].timer)
	if err != nil {
		return s, err
	}
	s.entries = slices.Clone(s.entries)
	s.entries[at].timer = c
	return s, nil
}

func (s Set) remove(number int) (Set, error) {
	at := s.index(number)
	if at < 0 {
		return s, ErrNoTimer
	}
	away := s.entries[at]
	s.away, s.entries = &away, slices.Delete(slices.Clone(s.entries), at, at+1)
	return s, nil
}

// undo takes the last press back as if it had never been made.
func (s Set) undo(now time.Duration) (Set, error) {
	if !s.undoable(now) {
		return s, ErrNoUndo
	}
	switch s.last.Act {
	case Start:
		return s.remove(s.started)
	case Remove:
		return s.with(*s.away), nil
	case Choose, Again, Next, Washed:
		s.entries, s.wash, s.paper = s.was.entries, s.was.wash, s.was.paper
		return s, nil
	}
	return s.change(s.last.Number, func(c chem.Timer) (chem.Timer, error) { return c.Undo(now) })
}

func (s Set) undoable(now time.Duration) bool { return s.open && now-s.pressed <= undoWithin }
