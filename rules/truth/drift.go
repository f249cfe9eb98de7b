package truth

import (
	"math"
	"time"

	"wetside/rules/fit"
	"wetside/sensors"
	"wetside/sensors/quantity"
	"wetside/sensors/quantity/phrase"
)

const (
	// leastHands is how many comparisons a drift needs, apart by at least leastDays in all.
	leastHands = 5
	leastDays  = 3
	// driftConfidence is that of the interval that has to leave out no drift at all.
	driftConfidence = 0.99
	// usualAccuracy stands in for a probe of which no accuracy is stated, in the steps of its channel.
	usualAccuracy = 5
)

// DriftOf looks for a drift of a channel against hand readings, since its device was
// fitted: a line through the differences whose interval leaves out no change at all,
// and that has moved by more than probe and thermometer may differ anyway. A probe
// that was off all the time is found by the mean of the differences.
func DriftOf(l Life) (Finding, bool) {
	c := comparisons(l)
	line, ok := fit.Regress(c.days, c.diffs)
	if !ok || line.N < leastHands || c.days[line.N-1] < leastDays {
		return Finding{}, false
	}
	f := Finding{What: Drift, Channels: []sensors.ChannelID{l.Channel.ID}, From: c.first, Confidence: driftConfidence}
	t, days := fit.Student(driftConfidence, float64(line.N-2)), c.days[line.N-1]
	half, moved := t*line.SlopeError, line.Slope*days
	if math.Abs(line.Slope) > half && math.Abs(moved) > c.allowed {
		f.Text = phrase.Say("%s has drifted against hand readings by %s in %.0f days.", l.Channel.Name, apart(l.Channel, moved), days)
		f.Basis = phrase.Say("%d comparisons; the line through their differences changes by %+.3f a day, between %+.3f and %+.3f with 99 %% "+
			"confidence; probe and thermometer may differ by %.2f anyway",
			line.N, line.Slope, line.Slope-half, line.Slope+half, c.allowed)
		return f, true
	}
	mean, scatter := fit.MeanStdDev(c.diffs)
	half = fit.Student(driftConfidence, float64(line.N-1)) * scatter / math.Sqrt(float64(line.N))
	if math.Abs(mean)-half <= c.allowed {
		return Finding{}, false
	}
	f.Text = phrase.Say("%s reads off by %s against hand readings.", l.Channel.Name, apart(l.Channel, mean))
	f.Basis = phrase.Say("%d comparisons; their mean difference lies between %+.2f and %+.2f with 99 %% confidence; probe and "+
		"thermometer may differ by %.2f anyway",
		line.N, mean-half, mean+half, c.allowed)
	return f, true
}

// compared are the differences of a probe from hand thermometers over time.
type compared struct {
	first       time.Time
	days, diffs []float64
	allowed     float64 // what probe and thermometer may differ anyway
}

// comparisons are those of the device that is fitted now.
func comparisons(l Life) compared {
	fitted, _ := l.Fitted()
	c := compared{allowed: fitted.Accuracy}
	if c.allowed <= 0 {
		c.allowed = usualAccuracy * l.Channel.Resolution
	}
	worst := 0.0
	for _, h := range l.Hands {
		d, ok := l.Difference(h)
		if !ok || h.At.Before(fitted.From) {
			continue
		}
		if len(c.days) == 0 {
			c.first = h.At
		}
		c.days, c.diffs = append(c.days, h.At.Sub(c.first).Hours()/24), append(c.diffs, d)
		worst = max(worst, h.Uncertainty)
	}
	c.allowed += worst
	return c
}

// apart is a difference of two values of a channel, as a sentence tells it.
func apart(c sensors.Channel, difference float64) quantity.Figure {
	return c.Dimension.Of(difference, 0.01).Change()
}
