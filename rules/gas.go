package rules

import (
	"iter"
	"maps"
	"math"
	"time"

	"wetside/rules/breathing"
	"wetside/sensors"
	"wetside/sensors/quantity"
	"wetside/sensors/quantity/phrase"
)

// Gas is a gas channel that is set against limits.
type Gas struct {
	Channel sensors.ChannelID
	Agent   breathing.Agent
	// Sensor is what the sensor can tell, in ppm.
	Sensor breathing.Sensor
	// Limits are the rows switched on for this room, as they are published.
	Limits []breathing.Limit
	// Shift lowers the long-term limits where people stay longer than they are meant for; zero lowers none.
	Shift time.Duration
}

// keptMinutes cover the longest window of the usual limit rows, 10 h, and the longest
// shift that may be configured, 12 h.
const keptMinutes = 720

// GasRecall is how far back a board goes on from kept readings of a gas when the program starts.
const GasRecall = keptMinutes * time.Minute

// gasMemory is the day of one gas channel in minutes of monotonic time, so that
// a clock set in between moves nothing. Its times count from [GasRecall] before the start of
// the program, so that none is negative.
type gasMemory struct {
	course  breathing.Course
	heard   time.Time // when the newest reading came
	judged  []breathing.Finding
	outlook phrase.Sentence
}

// probe is the gas probe behind a channel with a longest silence.
func (g Gas) probe(silence time.Duration) breathing.Probe {
	return breathing.Probe{Sensor: g.Sensor, Silence: silence, Keep: keptMinutes}
}

// take goes on with what the channel says now, and gives whether there is something new to
// judge: a minute that is complete, or a reading above a ceiling.
func (m gasMemory) take(g Gas, c ChannelView, now time.Duration) (gasMemory, bool) {
	before, _ := m.course.UnderWay()
	last := m.course.Length()
	if c.Seen && !c.LastAt.Equal(m.heard) {
		value, good := c.Good()
		m.course, m.heard = m.course.Read(g.probe(c.Channel.Silence), GasRecall+now-c.Age, value, good), c.LastAt
	}
	m.course = m.course.Wait(g.probe(c.Channel.Silence), GasRecall+now)
	after, _ := m.course.UnderWay()
	ceiling := g.ceiling()
	recalled := m.judged == nil && len(m.course.Minutes()) > 0
	return m, recalled || m.course.Length() != last || before.High <= ceiling && after.High > ceiling
}

// RecallGas goes on with a board by what a gas probe read before the program started: kept
// readings in the order of time, each with a value in the inside unit and with the monotonic
// time that its age comes to, below zero for most.
func RecallGas(board Board, g Gas, readings iter.Seq[sensors.Reading]) Board {
	var m gasMemory
	probed, _ := board.Probes.Life(g.Channel)
	probe := g.probe(probed.Channel.Silence)
	for r := range readings {
		if at := GasRecall + r.At.Mono; at >= 0 {
			m.course.Take(&probe, at, breathing.Reading{Value: r.Value, Good: r.Grade == sensors.Good})
		}
	}
	board.Memory.gases = maps.Clone(board.Memory.gases)
	if board.Memory.gases == nil {
		board.Memory.gases = map[sensors.ChannelID]gasMemory{}
	}
	board.Memory.gases[g.Channel] = m
	return board
}

// ceiling is the lowest ceiling among the limits, in ppm; infinite without one.
func (g Gas) ceiling() float64 {
	lowest := math.Inf(1)
	for _, l := range g.Limits {
		if l.Kind == breathing.Ceiling {
			lowest = min(lowest, g.ppm(l))
		}
	}
	return lowest
}

// ppm is a limit in the unit of the channel; where the row is a mass, by the molar mass.
func (g Gas) ppm(l breathing.Limit) float64 {
	v := l.Unit.ToBase(l.Value)
	if l.Unit.Dimension() == quantity.VolumeFraction {
		return v
	}
	return float64(breathing.ToFraction(quantity.MilligramPerCubicMetre(v), g.Agent.MolarMass, breathing.ConventionalMolarVolume))
}
