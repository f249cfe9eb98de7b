package alarm

import (
	"slices"
	"time"
)

// Statistics say how a room's alarms went over a time, from its transitions.
type Statistics struct {
	// Raised counts how often an alarm came up, in all and by ID.
	Raised int
	ByID   map[string]int
	// Busiest is the most alarms within any ten minutes.
	Busiest int
	// Answered holds how long each acknowledged alarm had waited, shortest first.
	Answered []time.Duration
	// Standing lists the alarms that were up at the end, and since when. Those that
	// nobody had acknowledged are in Unanswered, those put aside in Apart.
	Standing   []Alarm
	Unanswered []Alarm
	Apart      []Alarm
	// Dropped counts alarms that nobody had answered when all alarms came to rest: no session
	// was open and no tray filled any more.
	Dropped int
}

// busyTime is the time over which a flood of alarms is counted (EEMUA 191 as
// quoted second-hand: ten alarms in ten minutes are a flood).
const busyTime = 10 * time.Minute

// Span is a time from a moment up to another one.
type Span struct{ From, To time.Time }

// Count sums up the transitions within a span, which come in the order in which they happened.
// Transitions before it count for what stands at its end alone.
func Count(transitions []Transition, span Span) Statistics {
	s := Statistics{ByID: map[string]int{}}
	last := Set{}
	var lives Lives
	for _, t := range transitions {
		if t.At.Wall.After(span.To) {
			break
		}
		last[t.ID] = new(t.Alarm)
		lives.Step(t)
	}
	var raised []time.Time
	for _, l := range lives.All {
		if at := l.Raised.At.Wall; !at.Before(span.From) {
			raised = append(raised, at)
			s.ByID[l.Raised.ID]++
		}
		if !l.Answered.IsZero() && !l.Answered.Before(span.From) {
			s.Answered = append(s.Answered, l.Answered.Sub(l.Raised.At.Wall))
		}
		if l.Unanswered == Rests && !l.Ended.Before(span.From) {
			s.Dropped++
		}
	}
	slices.Sort(s.Answered)
	s.Raised, s.Busiest = len(raised), busiest(raised)
	s.stand(last)
	return s
}

func (s *Statistics) stand(last Set) {
	for _, a := range last.Listed() {
		switch {
		case a.State == Shelved || a.State == OutOfService:
			s.Apart = append(s.Apart, a)
		case a.State.annunciated():
			s.Standing = append(s.Standing, a)
			if a.State == Unacknowledged || a.State == Returned {
				s.Unanswered = append(s.Unanswered, a)
			}
		}
	}
}

// busiest counts the most moments within any stretch of [busyTime].
func busiest(moments []time.Time) int {
	most, first := 0, 0
	for i, at := range moments {
		for at.Sub(moments[first]) > busyTime {
			first++
		}
		most = max(most, i-first+1)
	}
	return most
}

// Median is the middle of how long answered alarms had waited, of an even number the mean of the middle two; false when none was answered.
func (s Statistics) Median() (time.Duration, bool) {
	if len(s.Answered) == 0 {
		return 0, false
	}
	return (s.Answered[(len(s.Answered)-1)/2] + s.Answered[len(s.Answered)/2]) / 2, true
}
