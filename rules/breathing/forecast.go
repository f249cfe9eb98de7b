package breathing

import (
	"time"

	"wetside/sensors/quantity/phrase"
)

// Forecast is when a moving average reaches a limit if the concentration goes on
// as it did. It is an estimate.
type Forecast struct {
	Reached bool
	In      time.Duration // only if reached within the look ahead
	Window  time.Duration
}

// ErrNoForecast says that the latest readings have gaps, so nothing follows from them.
var ErrNoForecast = phrase.Errorf("no forecast: the latest readings have gaps or are below the detection limit")

const (
	forecastStep  = 15 * time.Second
	forecastAhead = time.Hour
)

// Forecast goes on with the straight line through the concentrations of the
// latest time (base), and gives when the moving average over the window reaches
// the limit, looking one hour ahead. Time unknown within the window counts by
// the bound, so that a gap brings the moment nearer.
func (t Tape) Forecast(limit float64, window, base time.Duration, b Bound) (Forecast, error) {
	if !(limit > 0) {
		return Forecast{}, phrase.Errorf("a limit of %g is not usable: expected more than zero", limit)
	}
	now, slope, err := t.trend(base)
	if err != nil {
		return Forecast{}, err
	}
	f := Forecast{Window: window}
	l, err := t.ledger(window, b)
	if err != nil {
		return Forecast{}, err
	}
	end := t.Length()
	ahead := 0.0 // value x hours of what is to come
	for in := time.Duration(0); in <= forecastAhead; in += forecastStep {
		past := l.average(end, max(window-in, 0)+1)
		share := max(window-in, 0).Hours() * past.High
		if in > window {
			ahead -= max(now+slope*(in-window-forecastStep/2).Hours(), 0) * forecastStep.Hours()
		}
		if (share+ahead)/window.Hours() >= limit {
			f.Reached, f.In = true, in
			return f, nil
		}
		ahead += max(now+slope*(in+forecastStep/2).Hours(), 0) * forecastStep.Hours()
	}
	return f, nil
}

// trend fits a line through the middles of the latest spans and gives its value
// at the end of the tape and its slope an hour.
func (t Tape) trend(base time.Duration) (now, slope float64, err error) {
	end := t.Length()
	var n, sx, sy, sxx, sxy float64
	place := end
	for i := len(t.spans) - 1; i >= 0 && end-place < base; i-- {
		s := t.spans[i]
		if s.kind == nothing || s.kind == belowDetection {
			return 0, 0, ErrNoForecast
		}
		x, y := (place - s.length/2 - end).Hours(), (s.low+s.high)/2
		n, sx, sy, sxx, sxy = n+1, sx+x, sy+y, sxx+x*x, sxy+x*y
		place -= s.length
	}
	spread := n*sxx - sx*sx
	if end-place < base || n < 2 || spread <= 0 {
		return 0, 0, ErrNoForecast
	}
	slope = (n*sxy - sx*sy) / spread
	return (sy - slope*sx) / n, slope, nil
}

// Sentence says what the forecast means.
func (f Forecast) Sentence() phrase.Sentence {
	if !f.Reached {
		return phrase.Say("At this rate the %s limit is not reached within an hour.", spell(f.Window))
	}
	if f.In == 0 {
		return phrase.Say("The %s limit is reached now.", spell(f.Window))
	}
	return phrase.Say("At this rate the %s limit is reached in about %.0f min (estimate).", spell(f.Window), f.In.Minutes())
}
