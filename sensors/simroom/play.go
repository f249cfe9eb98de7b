package simroom

import "time"

// Play lets a room live for a time without any wire and hands on what its probes say
// with each second, by their names: for whatever follows from readings alone. The
// clock and the folder of the options are not needed.
func Play(o Options, lasts time.Duration, each func(elapsed time.Duration, says map[string]float64)) {
	live(o, lasts, func(s *state) { each(s.elapsed, s.values()) })
}

// Course lets a room live for a time without any wire and hands on, with each second, what
// is true in the place of every probe, by their names: for whoever tries probes of another make.
func Course(o Options, lasts time.Duration, each func(elapsed time.Duration, is map[string]float64)) {
	live(o, lasts, func(s *state) {
		is := make(map[string]float64, len(s.probes))
		for _, p := range s.probes {
			is[p.id] = s.truthAt(p)
		}
		each(s.elapsed, is)
	})
}

func live(o Options, lasts time.Duration, second func(*state)) {
	s := newState(o)
	s.happen()
	for s.elapsed < lasts {
		s.pass()
		second(s)
	}
}
