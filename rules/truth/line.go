package truth

import (
	"math"

	"wetside/rules/fit"
)

// Line is a least-squares line through points, with the standard errors of its
// intercept and its slope (the textbook formulas; checked against certified values
// of NIST in the tests).
type Line struct {
	Intercept, Slope           float64
	InterceptError, SlopeError float64
	N                          int
}

// FitLine fits a line to at least three points at different places; false otherwise.
func FitLine(x, y []float64) (Line, bool) {
	n := float64(len(x))
	if len(x) < 3 || len(y) != len(x) {
		return Line{}, false
	}
	mean := fit.Mean(x)
	var spread, residual float64
	for _, v := range x {
		spread += (v - mean) * (v - mean)
	}
	if spread == 0 {
		return Line{}, false
	}
	a, b := fit.Line(x, y)
	for i := range x {
		r := y[i] - a - b*x[i]
		residual += r * r
	}
	s := residual / (n - 2)
	return Line{a, b, math.Sqrt(s * (1/n + mean*mean/spread)), math.Sqrt(s / spread), len(x)}, true
}

// student is by how many standard errors a true value lies away at most, with a
// confidence such as 0.99 and so many degrees of freedom.
func student(confidence float64, freedom int) float64 {
	return fit.Student(confidence, float64(freedom))
}
