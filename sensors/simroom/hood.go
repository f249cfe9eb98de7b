package simroom

import (
	"math/rand/v2"
	"time"
)

// The slot hood behind the trays draws a little better in its middle than at its ends. Its
// figures are invented.
const (
	hoodFace    = 0.18 // m² of slot
	hoodMiddle  = 1.05
	hoodEnd     = 0.95
	hoodCovered = 0.2 // what an end still draws with a lid laid on it
)

// hood says which ends of the hood have something laid on them.
type hood struct{ left, right bool }

// hoodProbes are the three probes along the hood. Their dice are their own, so that they
// leave those of all others as they fall.
func hoodProbes() []*probe {
	like := maker{time.Second, 0.01, 0.01, 0, 20}
	place := func(id, about string, share func(*model) float64) *probe {
		return &probe{id: id, line: lineDuct, about: about, maker: like, own: rand.New(rand.NewPCG(uint64(id[2]), 3)),
			truth: func(m *model) float64 { return share(m) * m.fan.flow() / 3600 / hoodFace }}
	}
	end := func(covered bool) float64 {
		if covered {
			return hoodCovered
		}
		return hoodEnd
	}
	return []*probe{
		place("HDL", "hood, left end, m/s", func(m *model) float64 { return end(m.hood.left) }),
		place("HDM", "hood, middle, m/s", func(*model) float64 { return hoodMiddle }),
		place("HDR", "hood, right end, m/s", func(m *model) float64 { return end(m.hood.right) }),
	}
}
