package chem

import (
	"math"

	"wetside/sensors/quantity"
	"wetside/sensors/quantity/phrase"
)

// curve is the development time over temperature while a clock runs. It cannot
// refuse, since the film is already in: beyond the table it keeps the time of
// the table's end and says so.
type curve struct {
	table        Table
	hydroquinone bool
	scale        float64 // strength, use and emergence
}

// ends are the temperatures between which the curve is known.
func (k curve) ends() (low, high quantity.Celsius) {
	points := k.table.points
	low, high = points[0].At, points[len(points)-1].At
	if len(points) == 1 {
		low, high = min(low, HydroquinoneLimit()), max(high, generalLimit())
	}
	return low, high
}

// seconds is the whole development time at a temperature.
func (k curve) seconds(c quantity.Celsius) float64 {
	low, high := k.ends()
	c = min(max(c, low), high)
	if len(k.table.points) == 1 {
		only := k.table.points[0]
		return k.scale * only.Time.Seconds() * math.Exp(-generalCoefficient*float64(c-only.At))
	}
	return k.scale * k.table.inside(c).Seconds()
}

// beyond says that the curve does not reach the temperature, or is empty.
func (k curve) beyond(c quantity.Celsius) phrase.Sentence {
	low, high := k.ends()
	switch {
	case k.hydroquinone && c < HydroquinoneLimit()-edgeTolerance:
		return phrase.Say("the bath is at %s, below %s, where hydroquinone loses its power: do not trust the time",
			c.To(0.1), HydroquinoneLimit().To(0.1))
	case c < low-edgeTolerance:
		return phrase.Say("the bath is at %s, colder than the table's first point: the timer keeps the rate of %s and may end early", c.To(0.1),
			low.To(0.1))
	case c > high+edgeTolerance:
		return phrase.Say("the bath is at %s, warmer than the table's last point: the timer keeps the rate of %s and may end late", c.To(0.1),
			high.To(0.1))
	}
	return phrase.Sentence{}
}
