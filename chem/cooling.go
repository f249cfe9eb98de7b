package chem

import (
	"cmp"
	"math"
	"slices"
	"time"

	"wetside/sensors/quantity"
	"wetside/sensors/quantity/phrase"
)

const (
	fitBlocks  = 60               // readings are averaged into at most so many blocks
	fitFewest  = 6                // blocks below which nothing is fitted
	fitSpan    = 10 * time.Minute // shortest stretch of readings for a fit
	fitTaus    = 64               // time constants tried
	fitResting = 0.3              // largest standard deviation of the residuals, in kelvin
	tauStep    = 1.1068726        // from one time constant to the next, so that the last is 600 times the first
)

// Cooling is a bath on its way to its resting temperature, fitted by least squares
// to T(t) = Tinf + (T0 - Tinf) exp(-t/tau). It warms as well as it cools.
type Cooling struct {
	blocks   []block
	lines    []line // the sums over the blocks for each time constant: of exp(-t/tau), and of °C above the first
	end      time.Duration
	rest     float64 // Tinf
	above    float64 // T - Tinf at the end
	tau      float64 // seconds
	sse      float64
	variance float64 // of one block
}

// block is a mean of readings: seconds before the end, and °C.
type block struct{ t, y float64 }

// FitCooling fits the readings since the last pour, top-up or jacket. Resolution
// is the step of the probe in kelvin. Too few readings, or readings that follow
// no single cooling, are a [Refusal].
func FitCooling(samples []Sample, resolution float64) (Cooling, error) {
	sorted := slices.SortedFunc(slices.Values(samples), func(a, b Sample) int { return cmp.Compare(a.At, b.At) })
	if len(sorted) == 0 || sorted[len(sorted)-1].At-sorted[0].At < fitSpan {
		return Cooling{}, Refusal{phrase.Say("less than %.0f minutes of readings", fitSpan.Minutes())}
	}
	c := Cooling{blocks: average(sorted), lines: make([]line, 0, fitTaus), end: sorted[len(sorted)-1].At, sse: math.Inf(1)}
	if len(c.blocks) < fitFewest {
		return Cooling{}, Refusal{phrase.Say("too few readings for a forecast")}
	}
	sums := make([]float64, 0, fitTaus)
	for _, tau := range c.taus() {
		l := c.over(tau)
		c.lines, sums = append(c.lines, l), append(sums, c.try(tau, l))
	}
	_, place := lowest(sums)
	between := c.taus()[0] * math.Pow(tauStep, place)
	c.try(between, c.over(between))
	freedom := float64(len(c.blocks) - 3)
	c.variance = max(c.sse/freedom, resolution*resolution/12, 1e-8)
	if math.Sqrt(c.sse/freedom) > fitResting {
		return Cooling{}, Refusal{phrase.Say("the temperature did not change steadily: was something poured, or the probe moved?")}
	}
	return c, nil
}

// average puts the readings into blocks of equal length, so that a fast probe
// counts no more than a slow one. Readings that are no number are left out.
func average(sorted []Sample) []block {
	first, last := sorted[0].At, sorted[len(sorted)-1].At
	width := (last-first)/fitBlocks + 1
	var blocks []block
	var n, index float64
	for _, s := range sorted {
		y := float64(s.Temperature)
		if !finite(y) {
			continue
		}
		t, i := (s.At - last).Seconds(), math.Floor(float64(s.At-first)/float64(width))
		if len(blocks) == 0 || i != index {
			blocks, n, index = append(blocks, block{}), 0, i
		}
		n++
		b := &blocks[len(blocks)-1]
		b.t += (t - b.t) / n
		b.y += (y - b.y) / n
	}
	return blocks
}

// taus are the time constants tried, evenly spread in the logarithm: from a
// fifteenth of the stretch of readings to forty times it, which is nearly a straight line.
func (c Cooling) taus() []float64 {
	span := -c.blocks[0].t
	taus := make([]float64, fitTaus)
	for i := range taus {
		taus[i] = span / 15 * math.Pow(tauStep, float64(i))
	}
	return taus
}

// over are the sums over the blocks for one time constant.
func (c *Cooling) over(tau float64) line {
	var l line
	for _, b := range c.blocks {
		l.add(math.Exp(-b.t/tau), b.y-c.blocks[0].y)
	}
	return l
}

// try fits the two linear parameters for one time constant, keeps the best, and gives the sum of squares.
func (c *Cooling) try(tau float64, l line) float64 {
	slope, offset, ok := l.fit()
	if !ok {
		return math.Inf(1)
	}
	sse := max(l.syy-slope*l.sxy-offset*l.sy, 0)
	if sse < c.sse {
		c.sse, c.tau, c.above, c.rest = sse, tau, slope, offset+c.blocks[0].y
	}
	return sse
}

// lowest is the least of the sums, and its place among them, by the parabola through the three around it: the
// time constants tried are a tenth apart, and the best lies between two of them.
func lowest(sums []float64) (least, place float64) {
	at := 0
	for i, s := range sums {
		if s < sums[at] {
			at = i
		}
	}
	if at == 0 || at == len(sums)-1 {
		return sums[at], float64(at)
	}
	before, here, after := sums[at-1], sums[at], sums[at+1]
	bend := before - 2*here + after
	if !finite(bend) {
		return here, float64(at)
	}
	off := (before - after) / (2 * bend)
	return max(0, here-(before-after)*off/4), float64(at) + off
}

// At is the fitted temperature at a moment of the same clock as the readings.
func (c Cooling) At(t time.Duration) quantity.Celsius {
	return quantity.Celsius(c.rest + c.above*math.Exp(-(t-c.end).Seconds()/c.tau))
}
