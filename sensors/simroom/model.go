package simroom

import (
	"math"
	"math/rand/v2"
	"time"
)

// The trays, in the order in which they stand.
const (
	developer = iota
	stopBath
	fixer1
	fixer2
	trayCount
)

type trays [trayCount]tray

// The wash is running water behind a mixing valve that never holds quite still.
const (
	washAim    = 18.5 // °C
	washWander = 0.4  // K, standard deviation
	washPace   = 8 * time.Minute
)

// longestStep keeps evaporation, which is taken as linear within a step, honest.
const longestStep = 10 * time.Second

// model is the true state of the pretend room. It knows no clock and no probe.
type model struct {
	trays  trays
	air    air
	fan    fan
	hood   hood
	wash   float64 // °C
	people int
	dice   *rand.Rand
}

// newModel is a room with fresh baths, its fan running, and nobody in it.
func newModel(dice *rand.Rand) *model {
	m := &model{air: freshAir(), wash: washAim, dice: dice}
	m.fan.start(0)
	m.fan.spinning = 1
	m.fill()
	return m
}

// freshCelsius are the temperatures of fresh baths, the developer a little warm.
func freshCelsius() [trayCount]float64 { return [trayCount]float64{22.5, 19.5, 20, 19.5} }

func (m *model) fill() { m.each(everyTray(), (*model).pour) }

func (m *model) pour(i int) { m.trays[i].fill(freshCelsius()[i]) }

func (m *model) each(list []int, do func(*model, int)) {
	for _, i := range list {
		do(m, i)
	}
}

func everyTray() []int { return []int{developer, stopBath, fixer1, fixer2} }

// Step lets dt pass in the room.
func (m *model) Step(dt time.Duration) {
	for dt > 0 {
		part := min(dt, longestStep)
		dt -= part
		m.fan.step(part)
		m.air.step(part, vent{m.fan.flow(), m.people}, &m.trays)
		for i := range m.trays {
			m.trays[i].step(part, m.air.heat.level, m.air.water.level)
		}
		m.stepWash(part)
	}
}

// stepWash draws the mixing valve back to its aim while it wanders, so that its
// spread does not depend on the step.
func (m *model) stepWash(dt time.Duration) {
	kept := towards(1, 0, dt, washPace)
	m.wash = washAim + (m.wash-washAim)*kept + washWander*math.Sqrt(1-kept*kept)*m.dice.NormFloat64()
}
