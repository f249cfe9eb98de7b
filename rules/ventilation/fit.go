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

func fitLine(x, y []float64) (line, error) {
	r, ok := fit.Regress(x, y)
	if !ok {
		return line{}, errTooFew
	}
	return line{intercept: r.Intercept, slope: r.Slope, half: fit.Student(0.95, float64(r.N-2)) * r.SlopeError}, nil
}
