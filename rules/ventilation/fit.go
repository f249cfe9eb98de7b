package ventilation

import (
	"wetside/rules/fit"
	"wetside/sensors/quantity/phrase"
)

// errTooFew says that a line can't be fitted with an interval.
var errTooFew = phrase.Errorf("at least three points at different times are needed")

// line is a least-squares line with the 95 % half width of its slope.
type line struct {
	intercept, slope, half float64
}

func fitLine(x, y []float64) (line, error) { return lineOf(fit.Regress(x, y)) }

// fitWeighted counts each point by its weight.
func fitWeighted(x, y, weights []float64) (line, error) { return lineOf(fit.Weighted(x, y, weights)) }

func lineOf(r fit.Regression, ok bool) (line, error) {
	if !ok {
		return line{}, errTooFew
	}
	return line{intercept: r.Intercept, slope: r.Slope, half: fit.Student(0.95, float64(r.N-2)) * r.SlopeError}, nil
}
