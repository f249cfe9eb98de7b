package ventilation

import (
	"errors"
	"math"

	"wetside/rules/fit"
)

// errTooFew says that a line can't be fitted with an interval.
var errTooFew = errors.New("at least three points at different times are needed")

// line is a least-squares line with the 95 % half width of its slope.
type line struct {
	intercept, slope, half float64
}

func fitLine(x, y []float64) (line, error) {
	n := float64(len(x))
	if len(x) < 3 {
		return line{}, errTooFew
	}
	meanX := fit.Mean(x)
	var spread, residual float64
	for _, v := range x {
		spread += (v - meanX) * (v - meanX)
	}
	if spread == 0 {
		return line{}, errTooFew
	}
	a, b := fit.Line(x, y)
	for i := range x {
		r := y[i] - a - b*x[i]
		residual += r * r
	}
	t := fit.Student(0.95, n-2)
	return line{intercept: a, slope: b, half: t * math.Sqrt(residual/(n-2)/spread)}, nil
}
