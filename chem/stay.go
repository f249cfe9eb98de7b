package chem

import (
	"cmp"
	"math"
	"slices"
	"time"

	"wetside/sensors/quantity"
	"wetside/sensors/quantity/phrase"
)

// Band is the range in which a bath is to be kept.
type Band struct {
	Low, High quantity.Celsius
}

// StayVerdict says whether a bath stays in its band.
type StayVerdict uint8

// The verdicts. The zero verdict is none.
const (
	OutsideNow StayVerdict = iota + 1
	WillLeave
	WillNotLeave
)

// stayHorizon is how far ahead a cooling is followed: an evening.
const stayHorizon = 8 * time.Hour

// The times ahead that are tried: from half a minute to stayHorizon or little more.
const (
	aheadFirst = 30.0 // seconds
	aheads     = 137
)

// Stay is how long a bath will stay in its band.
type Stay struct {
	Verdict StayVerdict
	// Edge is the edge that it makes for; meaningful for WillLeave.
	Edge quantity.Celsius
	// In is the time until the edge, for WillLeave; else zero.
	In time.Duration
	// Earliest and Latest bound In with about 95 % coverage. For WillNotLeave,
	// Earliest above zero says that the readings do not yet rule out a leaving
	// then. MayNever says that there is no latest.
	Earliest, Latest time.Duration
	MayNever         bool
}

// Stay follows the cooling to the edge of the band:
// t = tau ln((T - Tinf)/(Tedge - Tinf)) where the edge lies between T and Tinf.
func (c Cooling) Stay(band Band) (Stay, error) {
	if !(band.Low < band.High) {
		return Stay{}, phrase.Errorf("a range from %s to %s is empty: its lower end must be below its upper", band.Low.To(0).Bare(),
			band.High.To(0))
	}
	if len(c.blocks) == 0 {
		return Stay{}, Refusal{phrase.Say("no cooling has been fitted")}
	}
	now := c.At(c.end)
	s := Stay{Verdict: WillNotLeave, Edge: band.Low}
	if now < band.Low || now > band.High {
		s.Verdict = OutsideNow
		return s, nil
	}
	if c.rest > float64(now) {
		s.Edge = band.High
	}
	profile := c.profile(float64(s.Edge))
	s.Earliest, s.Latest, s.MayNever = profile.earliest, profile.latest, profile.open
	if left, crosses := c.crossing(float64(s.Edge)); crosses {
		s.Verdict, s.In = WillLeave, left
		s.Earliest, s.Latest = min(s.Earliest, left), max(s.Latest, left)
		return s, nil
	}
	s.Latest, s.MayNever = 0, true
	return s, nil
}

// crossing is when the fitted curve meets the edge, within the horizon.
func (c Cooling) crossing(edge float64) (time.Duration, bool) {
	seconds := c.tau * math.Log(c.above/(edge-c.rest))       // no number where the curve rests on this side of the edge
	if !(seconds >= 0 && seconds <= stayHorizon.Seconds()) { // minus infinity where the bath stands still
		return 0, false
	}
	return fromSeconds(seconds), true
}

// span is a range of times to the edge that the readings allow.
type span struct {
	earliest, latest time.Duration
	open             bool
}

// profile finds the times to the edge which the readings allow: those for which
// the best curve through the edge at that time fits nearly as well as the best of
// all (profile likelihood, 95 %: a rise of 3.84 variances of the sum of squares).
func (c Cooling) profile(edge float64) span {
	var s span
	lines, ladder := c.overEdge(edge), c.ladder()
	most := c.sse + 3.84*c.variance
	for i := range aheads {
		if meeting(lines, ladder[i:]) > most {
			continue
		}
		s.earliest = cmp.Or(s.earliest, ahead(float64(i)-0.5))
		s.latest, s.open = ahead(float64(i)+0.5), i == aheads-1
	}
	return s
}

// ahead is a time ahead by its place among those that are tried: the bounds lie midway between the last
// that does not fit and the first that does, so that the steps make no range narrower.
func ahead(place float64) time.Duration { return fromSeconds(aheadFirst * math.Pow(tauStep, place/2)) }

// overEdge are the sums of every time constant with the temperatures counted from an edge.
func (c Cooling) overEdge(edge float64) []line {
	lines, shift := slices.Clone(c.lines), edge-c.blocks[0].y
	for i := range lines {
		l := &lines[i]
		l.syy += shift * (l.n*shift - 2*l.sy)
		l.sxy -= shift * l.sx
		l.sy -= shift * l.n
	}
	return lines
}

// ladder holds exp(-ahead/tau) for every time ahead and every time constant. Both go
// up in even steps of the logarithm, the times ahead in half of the other's, so that
// one row of values serves all: for time i and constant j it is the rung i + 2(fitTaus-1-j).
func (c Cooling) ladder() []float64 {
	rungs := make([]float64, aheads+2*(fitTaus-1))
	longest := c.taus()[fitTaus-1]
	for k := range rungs {
		rungs[k] = math.Exp(-aheadFirst / longest * math.Pow(tauStep, float64(k)/2))
	}
	return rungs
}

// meeting is the sum of squares of the best curve through the edge, over all time constants.
func meeting(lines []line, rungs []float64) float64 {
	var sums [fitTaus]float64
	for j := range lines {
		l, at := &lines[j], rungs[2*(fitTaus-1-j)]
		xx := l.sxx - 2*at*l.sx + at*at*l.n
		xy := l.sxy - at*l.sy
		sums[j] = l.syy - xy*xy/xx
	}
	least, _ := lowest(sums[:])
	return least
}
