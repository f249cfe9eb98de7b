package simroom

import (
	"math"
	"time"
)

// store is anything that keeps heat or a substance and is the same throughout: the
// water of a tray, the air of the room. In SI units, per second.
type store struct {
	size  float64 // how much of it makes the level rise by one: J/K, or m³ of air
	level float64 // °C, or a concentration per m³ of air
}

// link trades with a surrounding of constant level: W/K, or m³/s of air.
type link struct{ rate, level float64 }

// step lets dt pass with a constant source (W, or amount per second). It is the
// closed form of the one-zone equation size·dL/dt = source + Σ rate·(Lᵢ - L), so
// the length of a step does not matter while links and source stay as they are.
func (s *store) step(dt time.Duration, source float64, links ...link) {
	out, in := 0.0, source
	for _, l := range links {
		out += l.rate
		in += l.rate * l.level
	}
	t := dt.Seconds()
	x := out * t / s.size
	s.level += (in - out*s.level) * t / s.size * meanOfDecay(x)
}

// meanOfDecay is the mean of exp(-u) for u from 0 to x.
func meanOfDecay(x float64) float64 {
	if x < 1e-9 {
		return 1 - x/2
	}
	return -math.Expm1(-x) / x
}

// trade lets two stores exchange through a conductance for dt, losing nothing.
func trade(a, b *store, rate float64, dt time.Duration) {
	share := rate * (1/a.size + 1/b.size) * dt.Seconds()
	moved := (a.level - b.level) / (1/a.size + 1/b.size) * -math.Expm1(-share)
	a.level -= moved / a.size
	b.level += moved / b.size
}

// towards follows a level with a first-order lag: a probe's, a fan's.
func towards(from, to float64, dt, lag time.Duration) float64 {
	return to + (from-to)*math.Exp(-dt.Seconds()/lag.Seconds())
}
