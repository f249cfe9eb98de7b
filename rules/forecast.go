package rules

import (
	"time"

	"wetside/chem"
	"wetside/rules/fit"
	"wetside/sensors"
	"wetside/sensors/quantity"
	"wetside/sensors/quantity/phrase"
)

// Forecast is where a bath's temperature goes, by a first-order fit of the readings
// since it was last poured, topped up or warmed. The zero Forecast says nothing.
type Forecast struct {
	// Stay is how long the bath stays in its band, counted from now.
	Stay chem.Stay
	// Refusal says why nothing can be told; empty when something can.
	Refusal phrase.Sentence
}

// Known says whether something can be told.
func (f Forecast) Known() bool { return f.Stay.Verdict != 0 }

// Leaves is the time until the bath leaves its band; ok is false when it can't be told or won't.
func (f Forecast) Leaves() (in time.Duration, ok bool) {
	return f.Stay.In, f.Stay.Verdict == chem.WillLeave
}

// fitted is a forecast and the moment of the reading that it was made at.
type fitted struct {
	forecast Forecast
	at       time.Duration
}

// fitEvery is how long a forecast counts down before it is made anew.
const fitEvery = 2 * time.Minute

// renewed fits the track anew when the forecast has grown old or told nothing yet.
func (f fitted) renewed(t track, b Bath, resolution float64) fitted {
	if b.Band == (sensors.Range{}) || len(t.points) == 0 {
		return fitted{}
	}
	newest := t.points[len(t.points)-1].at
	age, same := newest-f.at, (f.forecast.Known() || !f.forecast.Refusal.IsZero()) && t.points[0].at <= f.at
	if same && (age < trackStep || f.forecast.Known() && age < fitEvery) {
		return f
	}
	cooling, err := chem.FitCooling(t.samples(), resolution)
	if err != nil {
		return fitted{Forecast{Refusal: phrase.Say("%v", err)}, newest}
	}
	stay, err := cooling.Stay(chem.Band{Low: quantity.Celsius(b.Band.Low), High: quantity.Celsius(b.Band.High)})
	if err != nil {
		return fitted{Forecast{Refusal: phrase.Say("%v", err)}, newest}
	}
	return fitted{Forecast{Stay: stay}, newest}
}

// now is the forecast with its times counted from a later moment.
func (f fitted) now(mono time.Duration) Forecast {
	passed := mono - f.at
	for _, t := range []*time.Duration{&f.forecast.Stay.In, &f.forecast.Stay.Earliest, &f.forecast.Stay.Latest} {
		*t = max(*t-passed, 0)
	}
	return f.forecast
}

// samples are the points as the fit takes them.
func (t track) samples() []chem.Sample {
	samples := make([]chem.Sample, len(t.points))
	for i, p := range t.points {
		samples[i] = chem.Sample{At: p.at, Temperature: quantity.Celsius(p.c)}
	}
	return samples
}

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
