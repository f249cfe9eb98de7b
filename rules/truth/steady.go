package truth

import (
	"math"
	"time"

	"wetside/rules/fit"
)

// Moment is one value at a time.
type Moment struct {
	At    time.Time
	Value float64
}

// Steadiness is how still a probe has been of late.
type Steadiness struct {
	// Known is false when there are too few readings to tell.
	Known bool
	// Steady is set when the readings of the last [SteadyFor] neither trend nor scatter.
	Steady bool
	Mean   float64
	// Scatter is their standard deviation, Trend the change in an hour... of SteadyFor.
	Scatter, Trend float64
	N              int
}

// SteadyFor is for how long a probe has to be still before it is read, and SteadyDrift
// by how much it may move meanwhile, in the steps that are worth showing (common practice).
const (
	SteadyFor   = 2 * time.Minute
	steadySteps = 1
	leastSteady = 10
)

// Steady judges the last readings before now. Step is the smallest difference worth showing.
func Steady(readings []Moment, now time.Time, step float64) Steadiness {
	var x, y []float64
	for _, r := range readings {
		if age := now.Sub(r.At); age >= 0 && age <= SteadyFor {
			x, y = append(x, -age.Minutes()), append(y, r.Value)
		}
	}
	line, ok := fit.Regress(x, y)
	if !ok || len(x) < leastSteady || -x[0] < 0.8*SteadyFor.Minutes() || -x[len(x)-1] > 0.25*SteadyFor.Minutes() {
		return Steadiness{N: len(x)}
	}
	mean, scatter := fit.MeanStdDev(y)
	s := Steadiness{Known: true, Mean: mean, Scatter: scatter, Trend: line.Slope * SteadyFor.Minutes(), N: len(x)}
	s.Steady = math.Abs(s.Trend) <= steadySteps*step && s.Scatter <= 2*steadySteps*step
	return s
}
