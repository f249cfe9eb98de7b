package chem

import (
	"math"
	"slices"
	"time"

	"wetside/sensors/quantity"
)

// Sample is a bath temperature measured at a moment of monotonic time.
type Sample struct {
	At          time.Duration
	Temperature quantity.Celsius
}

const (
	trackSpan    = 5 * time.Minute // how far back the trend of a bath is taken
	trackStep    = 5 * time.Second // samples nearer than this replace one another
	fastestDrift = 0.3             // kelvin per minute: a bath in a tray does no more (common practice)
)

// track is the last minutes of a bath, oldest first.
type track []Sample

// with is the track with a new sample; the old track stays as it was.
func (t track) with(s Sample) track {
	next := slices.Clone(t)
	if n := len(next); n >= 2 && next[n-1].At-next[n-2].At < trackStep {
		next = next[:n-1]
	}
	next = append(next, s)
	return slices.DeleteFunc(next, func(old Sample) bool { return s.At-old.At > trackSpan })
}

// drift is the least-squares trend in kelvin per minute, zero when the track is
// too short to tell.
func (t track) drift() float64 {
	if len(t) < 3 || t[len(t)-1].At-t[0].At < 30*time.Second {
		return 0
	}
	var l line
	for _, s := range t {
		l.add((s.At - t[0].At).Minutes(), float64(s.Temperature))
	}
	slope, _, _ := l.fit()
	return math.Max(-fastestDrift, math.Min(fastestDrift, slope))
}

// at carries the trend on from the last sample.
func (t track) at(now time.Duration) quantity.Celsius {
	last := t[len(t)-1]
	return last.Temperature + quantity.Celsius(t.drift()*(now-last.At).Minutes())
}

// line gathers the sums of an unweighted least-squares line y = offset + slope x.
type line struct {
	n, sx, sy, sxx, sxy, syy float64
}

func (l *line) add(x, y float64) {
	l.n++
	l.sx += x
	l.sy += y
	l.sxx += x * x
	l.sxy += x * y
	l.syy += y * y
}

// fit gives the line; ok is false when all points share one x.
func (l *line) fit() (slope, offset float64, ok bool) {
	spread := l.n*l.sxx - l.sx*l.sx
	if spread <= 0 {
		return 0, 0, false
	}
	slope = (l.n*l.sxy - l.sx*l.sy) / spread
	return slope, (l.sy - slope*l.sx) / l.n, true
}
