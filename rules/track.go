package rules

import (
	"time"

	"gonum.org/v1/gonum/stat"

	"wetside/sensors"
	"wetside/sensors/quantity"
)

// A track holds a bath's temperature of the last minutes, one point each half minute.
type track struct{ points []trackPoint }

type trackPoint struct {
	at time.Duration // monotonic
	c  float64
}

const (
	trackStep    = 30 * time.Second
	trackSpan    = 20 * time.Minute
	trackLeast   = 8                     // points for a trend worth showing
	trackHorizon = 3 * time.Hour         // a forecast beyond it is no use tonight
	trackGap     = 5 * time.Minute       // a longer silence starts a new track
	trackJump    = quantity.Celsius(1.5) // a larger step is a jacket or a top-up: the old trend is over
)

// with gives the track continued by the temperature now; the old track is not changed.
func (t track) with(now sensors.Instant, c quantity.Celsius, known bool) track {
	if n := len(t.points); n > 0 && now.Mono-t.points[n-1].at > trackGap {
		t = track{}
	}
	if !known {
		return t
	}
	if n := len(t.points); n > 0 {
		last := t.points[n-1]
		if jump := c - quantity.Celsius(last.c); jump > trackJump || jump < -trackJump {
			t, n = track{}, 0
		}
		if n > 0 && now.Mono-last.at < trackStep {
			return t
		}
	}
	kept := make([]trackPoint, 0, len(t.points)+1)
	for _, p := range t.points {
		if now.Mono-p.at <= trackSpan {
			kept = append(kept, p)
		}
	}
	return track{append(kept, trackPoint{now.Mono, float64(c)})}
}

// slope is the trend in kelvin an hour, nil while there are too few points.
func (t track) slope(now sensors.Instant) *float64 {
	if len(t.points) < trackLeast {
		return nil
	}
	hours := make([]float64, len(t.points))
	values := make([]float64, len(t.points))
	for i, p := range t.points {
		hours[i], values[i] = (p.at - now.Mono).Hours(), p.c
	}
	_, slope := stat.LinearRegression(hours, values, nil, false)
	return &slope
}

// leaves is the time until the temperature leaves the band if the trend goes on;
// nil when it can't be told, has left already, or won't within hours.
func (t track) leaves(band sensors.Range, c quantity.Celsius, trend *float64) *time.Duration {
	if trend == nil || *trend == 0 || band == (sensors.Range{}) || !band.Holds(float64(c)) {
		return nil
	}
	edge := band.High
	if *trend < 0 {
		edge = band.Low
	}
	hours := (edge - float64(c)) / *trend
	if hours > trackHorizon.Hours() {
		return nil
	}
	d := time.Duration(hours * float64(time.Hour))
	return &d
}
