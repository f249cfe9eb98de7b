package air

import (
	"math"
	"slices"

	"wetside/dashboard/web"
	"wetside/rules"
)

// decayDrawing shows the logarithm of what is above the background against time: a
// steady air change rate is a straight line.
type decayDrawing struct {
	Line         string
	Used, Out    []drawnPoint
	Minutes      string
	First, Least string
}

// The drawing of a decay is so wide and so high.
const decayWide, decayHigh = 400.0, 180.0

// drawDecay is nil where nothing lies above the background.
func drawDecay(a rules.TestAirChanges) *decayDrawing {
	last, high, low := 0.0, math.Inf(-1), math.Inf(1)
	for _, p := range a.Points {
		if rise := p.PPM - a.Background; rise > 0 {
			last, high, low = max(last, p.Minutes), max(high, math.Log(rise)), min(low, math.Log(rise))
		}
	}
	if !(last > 0) || !(high > low) {
		return nil
	}
	place := func(minutes, rise float64) (x, y float64) {
		return decayWide * minutes / last, decayHigh * (high - math.Log(rise)) / (high - low)
	}
	d := &decayDrawing{Minutes: web.Number(last, 0), First: web.Number(math.Exp(high)+a.Background, 0),
		Least: web.Number(math.Exp(low)+a.Background, 0)}
	var n, sum, meanX float64
	for _, p := range a.Points {
		if p.PPM <= a.Background {
			continue
		}
		x, y := place(p.Minutes, p.PPM-a.Background)
		dot := drawnPoint{X: web.Number(x, 1), Y: web.Number(y, 1)}
		if slices.ContainsFunc(a.Excluded, func(e rules.ExcludedTracer) bool { return math.Abs(e.Minutes-p.Minutes) < 1e-6 }) {
			d.Out = append(d.Out, dot)
			continue
		}
		d.Used = append(d.Used, dot)
		n, sum, meanX = n+1, sum+math.Log(p.PPM-a.Background), meanX+p.Minutes
	}
	// The least-squares line goes through the means of the points that count.
	at := func(minutes float64) float64 { return sum/n - float64(a.Changes)/60*(minutes-meanX/n) }
	_, y0 := place(0, math.Exp(at(0)))
	_, y1 := place(last, math.Exp(at(last)))
	d.Line = "M0 " + web.Number(y0, 1) + "L" + web.Number(decayWide, 0) + " " + web.Number(y1, 1)
	return d
}
