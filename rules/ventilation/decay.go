package ventilation

import (
	"cmp"
	"math"
	"slices"
	"time"

	"wetside/rules/fit"
	"wetside/sensors/quantity"
	"wetside/sensors/quantity/phrase"
)

// DecayPoint is a concentration after a time, in the unit of the whole test.
type DecayPoint struct {
	After         time.Duration
	Concentration float64
}

// DecayTest is a tracer or CO2 decay in a room with the fan left as it is. It
// counts only if the room is empty: people breathe out CO2.
type DecayTest struct {
	Background float64
	// SensorError is how far off a reading may be; points less than three times
	// that above the background are excluded.
	SensorError float64
	RoomEmpty   bool
	Points      []DecayPoint
}

// Decay is the air change rate from a decay, with its 95 % interval.
type Decay struct {
	AirChanges, Low, High quantity.PerHour
	Used                  []DecayPoint
	Excluded              []ExcludedPoint
}

// ExcludedPoint is a point that did not count, and why.
type ExcludedPoint struct {
	DecayPoint
	Reason phrase.Sentence
}

// decayMargin times the sensor error above the background is where a point
// stops counting (common practice: a few times the error).
const decayMargin = 3

// errNotEmpty says that people were in the room during a decay.
var errNotEmpty = phrase.Errorf("a decay counts only in an empty room: people breathe out CO2")

// AirChanges fits ln(C - background) against time; the rate is minus the slope (ASTM E741,
// from memory). A point counts by the square of its height above the background: the same
// noise in ppm moves the logarithm of a low one by more. The 95 % interval covers the
// scatter of the points and a sensor that is off by up to its error all the time, which
// shifts the background.
func (t DecayTest) AirChanges() (Decay, error) {
	if !t.RoomEmpty {
		return Decay{}, errNotEmpty
	}
	d, err := t.sift()
	if err != nil {
		return Decay{}, err
	}
	fit, err := d.fit(t.Background)
	if err != nil {
		return Decay{}, phrase.Errorf("%d of %d points count%s: %w", len(d.Used), len(t.Points), d.leftOut(), err)
	}
	switch {
	case fit.slope >= 0:
		return Decay{}, phrase.Errorf("the concentration does not fall: no air change rate follows from it")
	case fit.slope+fit.half >= 0:
		return Decay{}, phrase.Errorf("the readings show no decay, for they fall by no more than they scatter: at most %.2f air changes an "+
			"hour go with them", fit.half-fit.slope)
	}
	const usually = 0.95 // of an error that may be anywhere within its limits
	above, err := d.fit(t.Background + usually*t.SensorError)
	if err != nil {
		return Decay{}, err
	}
	below, err := d.fit(t.Background - usually*t.SensorError)
	if err != nil {
		return Decay{}, err
	}
	d.AirChanges = quantity.PerHour(-fit.slope)
	d.Low = max(0, d.AirChanges-quantity.PerHour(math.Hypot(fit.half, below.slope-fit.slope)))
	d.High = d.AirChanges + quantity.PerHour(math.Hypot(fit.half, above.slope-fit.slope))
	return d, nil
}

// fit lays a line through the logarithms of the points that count, above a background.
func (d Decay) fit(background float64) (line, error) {
	var x, y, weights []float64
	for _, p := range d.Used {
		above := p.Concentration - background
		x, y, weights = append(x, p.After.Hours()), append(y, math.Log(above)), append(weights, above*above)
	}
	return fitWeighted(x, y, weights)
}

// leftOut names a point that does not count, so that a wrong background is seen.
func (d Decay) leftOut() phrase.Sentence {
	if len(d.Excluded) == 0 {
		return phrase.Sentence{}
	}
	return phrase.Say(", that after %s is %s", d.Excluded[0].After, d.Excluded[0].Reason)
}

// sift orders the points and parts those that count from those that do not.
func (t DecayTest) sift() (Decay, error) {
	if err := notNegative(phrase.Say("background"), t.Background, ""); err != nil {
		return Decay{}, err
	}
	if err := notNegative(phrase.Say("sensor error"), t.SensorError, ""); err != nil {
		return Decay{}, err
	}
	points := slices.Clone(t.Points)
	slices.SortStableFunc(points, func(a, b DecayPoint) int { return cmp.Compare(a.After, b.After) })
	var d Decay
	for i, p := range points {
		if err := notNegative(phrase.Say("concentration after %s", p.After), p.Concentration, ""); err != nil {
			return Decay{}, err
		}
		twice := i > 0 && points[i-1].After == p.After
		switch {
		case twice && points[i-1] != p:
			return Decay{}, phrase.Errorf("two different concentrations after %s: %g and %g; keep the right one", p.After,
				points[i-1].Concentration, p.Concentration)
		case twice:
			d.Excluded = append(d.Excluded, ExcludedPoint{p, phrase.Say("given twice")})
		case p.Concentration-t.Background <= decayMargin*t.SensorError:
			d.Excluded = append(d.Excluded, ExcludedPoint{p, phrase.Say("too near the background, or below it")})
		default:
			d.Used = append(d.Used, p)
		}
	}
	return d, nil
}

// Agreement says how an air change rate by decay and one by flow go together.
type Agreement struct {
	Agrees   bool
	Sentence phrase.Sentence
}

// Compare sets a decay beside the rate from the flow reading, whose accuracy is
// in percent of the reading. They agree if their intervals meet.
func (d Decay) Compare(byFlow quantity.PerHour, accuracy quantity.Percent) Agreement {
	spread := byFlow * quantity.PerHour(accuracy/100)
	both := phrase.Say("decay %.1f air changes an hour (%.1f to %.1f), flow %.1f (%.1f to %.1f)",
		float64(d.AirChanges), float64(d.Low), float64(d.High), float64(byFlow), float64(byFlow-spread), float64(byFlow+spread))
	switch {
	case d.High < byFlow-spread:
		return Agreement{false,
			phrase.Say("They contradict each other: %s. The air at the sensor changes less than the flow says: poor mixing, a short cut from "+
				"inlet to outlet, or a flow probe that reads high.", both)}
	case d.Low > byFlow+spread:
		return Agreement{false, phrase.Say("They contradict each other: %s. The room loses air in other ways too, or the flow probe reads low.",
			both)}
	}
	return Agreement{true, phrase.Say("They agree: %s.", both)}
}

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
