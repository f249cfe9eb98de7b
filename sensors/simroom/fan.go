package simroom

import (
	"math"
	"math/rand/v2"
	"time"
)

// A small fan on a round duct. Fan, duct and make-up grille all follow the square
// law, so the flow where they balance has a closed form. The figures are
// invented: 300 m³/h at -5 Pa with the grille open, 184 m³/h at -30 Pa blocked.
const (
	fanPush      = 45.0 // Pa at no flow
	fanAndDuct   = 4.444e-4
	grilleOpen   = 5.556e-5 // Pa per (m³/h)²
	grilleClosed = 8.86e-4  // leaks round the doors alone
	ductArea     = math.Pi * 0.15 * 0.15 / 4
	airDensity   = 1.2041 // kg/m³ at 20 °C and 101325 Pa: p/(287.055·T)
	fanRunUp     = 3 * time.Second
)

// fan draws air out of the room while its timer, if it has one, lasts.
type fan struct {
	on       bool
	timer    time.Duration // what is left of the count-down; 0: no timer
	tripped  bool          // the motor stands still whatever the switch says
	blocked  bool          // black cloth over the make-up grille
	spinning float64       // 0 to 1
}

// start switches the fan on, for good or, with a count-down timer, for a while.
func (f *fan) start(timer time.Duration) { f.on, f.timer = true, timer }

func (f *fan) stop() { f.on, f.timer = false, 0 }

// step lets dt pass: the timer counts down and the fan follows its switch.
func (f *fan) step(dt time.Duration) {
	if f.on && f.timer > 0 {
		if f.timer -= dt; f.timer <= 0 {
			f.stop()
		}
	}
	goal := 0.0
	if f.on && !f.tripped {
		goal = 1
	}
	f.spinning = towards(f.spinning, goal, dt, fanRunUp)
}

func (f *fan) grille() float64 {
	if f.blocked {
		return grilleClosed
	}
	return grilleOpen
}

// flow is the air drawn through the duct, in m³/h.
func (f *fan) flow() float64 {
	return f.spinning * math.Sqrt(fanPush/(fanAndDuct+f.grille()))
}

// roomPressure is the room against the corridor, in Pa: negative while air is drawn in.
func (f *fan) roomPressure() float64 { return -f.grille() * f.flow() * f.flow() }

// velocity is the mean air velocity in the duct, in m/s.
func (f *fan) velocity() float64 { return f.flow() / 3600 / ductArea }

// velocityPressure is what a pitot tube in the duct shows, in Pa: ρv²/2.
func (f *fan) velocityPressure() float64 { return airDensity * f.velocity() * f.velocity() / 2 }

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
	place := func(id string, share func(*model) float64) *probe {
		return &probe{id: id, maker: like, own: rand.New(rand.NewPCG(uint64(id[2]), 3)),
			truth: func(m *model) float64 { return share(m) * m.fan.flow() / 3600 / hoodFace }}
	}
	end := func(covered bool) float64 {
		if covered {
			return hoodCovered
		}
		return hoodEnd
	}
	return []*probe{
		place("HDL", func(m *model) float64 { return end(m.hood.left) }),
		place("HDM", func(*model) float64 { return hoodMiddle }),
		place("HDR", func(m *model) float64 { return end(m.hood.right) }),
	}
}
