package simroom

import (
	"math"
	"math/rand/v2"
	"time"
)

// The lines of the pretend room.
const (
	lineTrays = "trays"
	lineAir   = "air"
	lineDuct  = "duct"
)

// maker is how probes of one make follow the truth and how finely they show it.
// The figures are invented, of the size that plain probes have.
type maker struct {
	lag   time.Duration // first-order
	noise float64       // standard deviation
	step  float64       // the smallest step it shows
	low   float64       // the least it can show
	high  float64       // the most it can show
}

// probe is one pretend probe: its truth, what it feels of it, and what it says.
type probe struct {
	id string
	maker
	truth func(*model) float64
	felt  float64
	said  float64
	own   *rand.Rand // its own dice; nil for the room's
}

func probes() []*probe {
	wet := maker{15 * time.Second, 0.03, 0.0625, -55, 125}
	return append([]*probe{
		{id: "DEV", maker: wet, truth: bathOf(developer)},
		{id: "STP", maker: wet, truth: bathOf(stopBath)},
		{id: "FX1", maker: wet, truth: bathOf(fixer1)},
		{id: "FX2", maker: wet, truth: bathOf(fixer2)},
		{id: "WSH", maker: maker{10 * time.Second, 0.01, 0.01, -55, 125},
			truth: func(m *model) float64 { return m.wash }},
		{id: "AIR", maker: maker{time.Minute, 0.02, 0.01, -40, 80},
			truth: func(m *model) float64 { return m.air.heat.level }},
		{id: "HUM", maker: maker{20 * time.Second, 0.1, 0.1, 0, 100},
			truth: func(m *model) float64 { return m.air.humidity() }},
		{id: "ROOM", maker: maker{time.Second, 0.2, 0.1, -500, 500},
			truth: func(m *model) float64 { return m.fan.roomPressure() }},
		{id: "VEL", maker: maker{time.Second, 0.03, 0.01, 0, 30},
			truth: func(m *model) float64 { return m.fan.velocity() }},
		{id: "VPR", maker: maker{time.Second, 0.1, 0.1, -3000, 3000},
			truth: func(m *model) float64 { return m.fan.velocityPressure() }},
		{id: "FAN", maker: maker{time.Millisecond, 0, 1, 0, 1}, truth: fanCommand},
		{id: "CO2", maker: maker{30 * time.Second, 3, 1, 0, 5000},
			truth: func(m *model) float64 { return m.air.co2.level }},
		{id: "ACA", maker: maker{30 * time.Second, 0.01, 0.001, 0, 50},
			truth: func(m *model) float64 { return m.air.acidPPM() }},
		{id: "SO2", maker: maker{30 * time.Second, 0.008, 0.01, 0, 20},
			truth: func(m *model) float64 { return m.air.so2PPM() }},
	}, hoodProbes()...)
}

// bathOf is the temperature at a tray's probe: of the air, when the tray is empty.
func bathOf(i int) func(*model) float64 {
	return func(m *model) float64 {
		if !m.trays[i].filled {
			return m.air.heat.level
		}
		return m.trays[i].bath.level
	}
}

func fanCommand(m *model) float64 {
	if m.fan.on {
		return 1
	}
	return 0
}

// feel lets dt pass in a place where something is true.
func (p *probe) feel(truth float64, dt time.Duration) { p.felt = towards(p.felt, truth, dt, p.lag) }

// say settles what the probe shows next, with its noise and in its steps.
func (p *probe) say(dice *rand.Rand, f faults) {
	if p.own != nil {
		dice = p.own
	}
	noise := p.noise * dice.NormFloat64()
	switch {
	case f.frozen:
		return
	case f.stuck:
		p.said = p.high
		return
	case f.hushed:
		noise = 0
	}
	if f.shifted {
		noise += shiftSteps * p.step
	}
	steps := math.Round((p.felt + noise) / p.step)
	p.said = min(p.high, max(p.low, steps*p.step)) + 0 // a probe shows no negative zero
}

// shiftSteps is by how many of its steps a probe with another zero is off.
const shiftSteps = 40

// faults are what is wrong with a probe now.
type faults struct{ frozen, hushed, stuck, shifted bool }
