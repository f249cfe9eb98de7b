package agreement_test

import "time"

// step is one setting of the wall clock: what the clock showed before and after.
type step struct{ before, after time.Time }

// steps sets the clock of the computer, as somebody does who corrects it.
func (e *evening) steps(by time.Duration) {
	was := e.clock.Now().Wall
	e.clock.Step(by)
	e.stepped = append(e.stepped, step{was, e.clock.Now().Wall})
	for _, r := range e.rooms {
		r.worst.broken = true
	}
}

// unclear says whether the hour of a moment says too little of when it was: a clock that was
// set back showed the moment twice, or shows so soon after it what the rules look back over.
func (e *evening) unclear(at time.Time) bool {
	const lookBack = 25 * time.Minute
	for _, s := range e.stepped {
		if back := s.after.Before(s.before); back && !at.Before(s.after.Add(-time.Minute)) && at.Before(s.before.Add(lookBack)) {
			return true
		}
		if forward := s.after.After(s.before); forward && !at.Before(s.before.Add(-time.Minute)) && at.Before(s.after.Add(lookBack)) {
			return true
		}
	}
	return false
}

// shown are the earliest and the latest moment that the clock showed.
func (e *evening) shown() (from, to time.Time) {
	from, to = opening(), e.clock.Now().Wall
	for _, s := range e.stepped {
		if s.after.Before(from) {
			from = s.after
		}
		if s.before.After(to) {
			to = s.before
		}
	}
	return from, to
}
