package rules

import (
	"time"

	"wetside/rules/fit"
	"wetside/sensors"
	"wetside/sensors/quantity"
)

// A track holds a bath's temperature of the last hour, one point each half minute.
type track struct{ points []trackPoint }

type trackPoint struct {
	at time.Duration // monotonic
	c  float64
}

const (
	trackStep  = 30 * time.Second
	trackSpan  = time.Hour             // for the forecast
	trendSpan  = 20 * time.Minute      // for the trend
	trackLeast = 8                     // points for a trend worth showing
	trackGap   = 5 * time.Minute       // a longer silence starts a new track
	trackJump  = quantity.Celsius(1.5) // a larger step is a jacket or a top-up: the old trend is over
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

// slope is the trend of the last minutes in kelvin an hour, nil while there are too few points.
func (t track) slope(now sensors.Instant) *float64 {
	recent := t.points
	for len(recent) > 0 && now.Mono-recent[0].at > trendSpan {
		recent = recent[1:]
	}
	if len(recent) < trackLeast {
		return nil
	}
	hours := make([]float64, len(recent))
	values := make([]float64, len(recent))
	for i, p := range recent {
		hours[i], values[i] = (p.at - now.Mono).Hours(), p.c
	}
	_, slope := fit.Line(hours, values)
	return &slope
}
