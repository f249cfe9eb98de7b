package simroom

import "time"

// Play lets a room live for a time without any wire and hands on what its probes say
// with each second, by their names: for whatever follows from readings alone. The
// clock and the folder of the options are not needed.
func Play(o Options, lasts time.Duration, each func(elapsed time.Duration, says map[string]float64)) {
	s := newState(o)
	s.happen()
	for s.elapsed < lasts {
		s.pass()
		each(s.elapsed, s.values())
	}
}
