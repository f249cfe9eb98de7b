package chem

import (
	"math"
	"time"

	"wetside/sensors/quantity"
)

// reference is the published point nearest to 20 °C, at which the reasons start.
func (t Table) reference() Point {
	best := t.points[0]
	for _, p := range t.points {
		if math.Abs(float64(p.At-20)) < math.Abs(float64(best.At-20)) {
			best = p
		}
	}
	return best
}

// rounding is the step to which the table's times were evidently rounded: the
// largest of the usual steps that divides them all.
func (t Table) rounding() time.Duration {
	for _, step := range []time.Duration{30, 15, 10, 5} {
		step *= time.Second
		whole := true
		for _, p := range t.points {
			whole = whole && p.Time%step == 0
		}
		if whole {
			return step
		}
	}
	return time.Second
}

// rounded is how far the logarithm of a time may be off for the rounding of the points around it, each
// within half a step.
func (t Table) rounded(c quantity.Celsius) spread {
	half := t.rounding().Seconds() / 2
	near := func(p Point, weight float64) spread { return within(half / p.Time.Seconds()).times(weight) }
	for i := 1; i < len(t.points); i++ {
		lo, hi := t.points[i-1], t.points[i]
		if c >= lo.At && c <= hi.At {
			share := float64((c - lo.At) / (hi.At - lo.At))
			return near(lo, 1-share).plus(near(hi, share))
		}
	}
	if c > t.points[0].At {
		return near(t.points[len(t.points)-1], 1)
	}
	return near(t.points[0], 1)
}

// slopeNear is the steepest |d ln t / dT| per kelvin of the segments that the
// probe's plus-or-minus touches.
func (t Table) slopeNear(b BathTemperature) float64 {
	steepest := 0.0
	for i := 1; i < len(t.points); i++ {
		lo, hi := t.points[i-1], t.points[i]
		reach := quantity.Celsius(b.accuracy + edgeTolerance)
		if b.at+reach >= lo.At && b.at-reach <= hi.At {
			steepest = max(steepest, math.Abs(segmentSlope(lo, hi)))
		}
	}
	if len(t.points) == 1 {
		return generalCoefficient
	}
	return steepest
}

// segmentSlope is d ln t / dT per kelvin between two points.
func segmentSlope(lo, hi Point) float64 {
	return math.Log(hi.Time.Seconds()/lo.Time.Seconds()) / float64(hi.At-lo.At)
}
