package sensors

import "time"

const (
	// stalledAfter is how long a watch, which wakes every second, may sleep before it
	// counts as having stood still: the process was stopped, or had no processor.
	stalledAfter = 3 * time.Second
	// settling is how long after that bytes still come in that waited meanwhile in the
	// operating system and in the queue of the line.
	settling = time.Second
)

// stall says since when the bytes that come in now may have waited. It goes by the
// computer's own time: how long a process stood still is no matter of a simulated clock.
type stall struct {
	looked   time.Time // when the watch looked last
	at       Instant   // the same by the clock of the watch
	earliest Instant   // when the bytes that come in now can have come at the earliest
	until    time.Time // when everything that waited has been read
}

// realTime is the computer's own time, for a clock that runs faster too. A clock that only
// moves when a test says so knows better what passed: how long the test took is no stall.
func realTime(c Clock) time.Time {
	if own, has := c.(interface{ Real() time.Time }); has {
		return own.Real()
	}
	return time.Now()
}

// look notes that the watch looks for bytes now.
func (s *stall) look(real time.Time, now Instant) {
	if !s.looked.IsZero() && real.Sub(s.looked) > stalledAfter {
		if !real.Before(s.until) { // a further one leaves the first moment as it is
			s.earliest = s.at
		}
		s.until = real.Add(settling)
	}
	s.looked, s.at = real, now
}

// since gives when bytes that are read now can have come at the earliest, and whether
// that is earlier than now.
func (s *stall) since(real time.Time, now Instant) (earliest Instant, waited bool) {
	if real.Before(s.until) {
		return s.earliest, true
	}
	return now, false
}
