// Package fit holds the few statistics that the rules need: means, scatter,
// least-squares lines and the quantiles of Student's distribution. The textbook
// formulas; the tests hold them to an independent library, which itself would make
// the program a tenth larger.
package fit

import (
	"math"

	"gonum.org/v1/gonum/mathext"
)

// Mean of the values; not a number when there are none.
func Mean(x []float64) float64 {
	sum := 0.0
	for _, v := range x {
		sum += v
	}
	return sum / float64(len(x))
}

// MeanStdDev gives the mean and the standard deviation of a sample of at least two values.
func MeanStdDev(x []float64) (mean, deviation float64) {
	mean = Mean(x)
	squares := 0.0
	for _, v := range x {
		squares += (v - mean) * (v - mean)
	}
	return mean, math.Sqrt(squares / float64(len(x)-1))
}

// Line gives the least-squares line through points at two different places at least.
func Line(x, y []float64) (intercept, slope float64) {
	meanX, meanY := Mean(x), Mean(y)
	var xx, xy float64
	for i, v := range x {
		xx += (v - meanX) * (v - meanX)
		xy += (v - meanX) * (y[i] - meanY)
	}
	slope = xy / xx
	return meanY - slope*meanX, slope
}

// Regression is a least-squares line through points, with the standard error of its
// slope (the textbook formulas; checked against certified values
// of NIST in the tests).
type Regression struct {
	Intercept, Slope float64
	SlopeError       float64
	N                int
}

// Regress fits a line to at least three points at different places; false otherwise.
func Regress(x, y []float64) (Regression, bool) {
	weights := make([]float64, len(x))
	for i := range weights {
		weights[i] = 1
	}
	return Weighted(x, y, weights)
}

// Weighted fits a line as [Regress] does, where each point counts by its weight: the
// inverse of its variance, up to a factor that all share.
func Weighted(x, y, weights []float64) (Regression, bool) {
	if len(x) < 3 || len(y) != len(x) || len(weights) != len(x) {
		return Regression{}, false
	}
	var all, meanX, meanY float64
	for i, w := range weights {
		all, meanX, meanY = all+w, meanX+w*x[i], meanY+w*y[i]
	}
	meanX, meanY = meanX/all, meanY/all
	var spread, both, residual float64
	for i, w := range weights {
		dx := x[i] - meanX
		spread, both = spread+w*dx*dx, both+w*dx*(y[i]-meanY)
	}
	if spread == 0 {
		return Regression{}, false
	}
	slope := both / spread
	intercept := meanY - slope*meanX
	for i, w := range weights {
		r := y[i] - intercept - slope*x[i]
		residual += w * r * r
	}
	s := residual / float64(len(x)-2)
	return Regression{intercept, slope, math.Sqrt(s / spread), len(x)}, true
}

// Student is by how many standard errors a true value lies away at most, with a
// confidence such as 0.95 and so many degrees of freedom, one or more.
func Student(confidence, freedom float64) float64 {
	t := mathext.InvRegIncBeta(freedom/2, 0.5, 1-confidence)
	return math.Sqrt(freedom * (1 - t) / t)
}
