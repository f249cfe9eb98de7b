package chem

import "math"

// spread is how far a value may be off: its variance, and its fourth cumulant, which tells a hard limit
// from a bell. Both add up over causes that have nothing to do with each other.
type spread struct{ variance, fourth float64 }

// within is the spread of something that lies anywhere within plus or minus a limit.
func within(limit float64) spread {
	v := limit * limit / 3
	return spread{v, -1.2 * v * v}
}

// deviating is the spread of a bell with a standard deviation.
func deviating(sd float64) spread { return spread{variance: sd * sd} }

func (s spread) plus(o spread) spread { return spread{s.variance + o.variance, s.fourth + o.fourth} }

// times is the spread of the value times a factor.
func (s spread) times(f float64) spread { return spread{s.variance * f * f, s.fourth * f * f * f * f} }

// standard is the standard uncertainty.
func (s spread) standard() float64 { return math.Sqrt(s.variance) }

// most is how far off the value is in 95 of 100 cases: 1.645 standard uncertainties where one hard limit is all
// there is, 1.902 for two like ones, 1.960 for a bell, and by their kurtosis in between (worked out from the
// rectangle, the triangle and the normal distribution). Two throughout would hold all of a hundred truths
// behind one hard limit.
func (s spread) most() float64 {
	if s.variance <= 0 {
		return 0
	}
	kurtosis := s.fourth / (s.variance * s.variance)
	return (1.960 - 0.0685*kurtosis - 0.2758*kurtosis*kurtosis) * s.standard()
}

// finite says whether a number is one that can be measured: neither without end nor none at all.
func finite(v float64) bool { return math.Abs(v) <= math.MaxFloat64 }
