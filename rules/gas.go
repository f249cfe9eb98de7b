package rules

import (
	"math"
	"slices"
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

// gasMinute is what was read in one minute: compact enough to keep a working day.
type gasMinute struct {
	known, below time.Duration // time with a value, and below the detection limit
	sum          float64       // ppm x hours of the time with a value
	max          float64       // ppm
}

// keptMinutes cover the longest window of the usual limit rows, 10 h, and the longest
// shift that may be configured, 12 h.
const keptMinutes = 720

// gasMemory is the day of one gas channel in minutes of monotonic time, so that
// a clock set in between moves nothing.
type gasMemory struct {
	minutes []gasMinute // complete ones, oldest first
	now     gasMinute   // the one under way
	begun   bool
	at      time.Duration
	value   float64 // read last, ppm
	good    bool
	judged  []breathing.Finding
	outlook phrase.Sentence
}

// longestHeld is the longest time between two looks for which a reading still holds.
const longestHeld = time.Minute

// take adds the time since the last look by what was read then, and gives whether
// there is something new to judge: a minute that is complete, or a reading above a ceiling.
func (m gasMemory) take(g Gas, c ChannelView, now time.Duration) (gasMemory, bool) {
	if !m.begun {
		m.begun, m.at = true, now
	}
	held := m.good && now-m.at <= longestHeld
	var full []gasMinute
	for m.at < now {
		end := min(now, m.at.Truncate(time.Minute)+time.Minute)
		if held {
			m.now.add(g, m.value, end-m.at)
		}
		if m.at = end; end%time.Minute == 0 {
			full, m.now = append(full, m.now), gasMinute{}
		}
	}
	if len(full) > 0 {
		all := slices.Concat(m.minutes[max(0, len(m.minutes)+min(len(full), keptMinutes)-keptMinutes):], full)
		m.minutes = all[max(0, len(all)-keptMinutes):]
	}
	before := m.now.max
	m.value, m.good = c.Good()
	m.good = m.good && m.value >= 0 && !math.IsInf(m.value, 0)
	if m.good {
		m.now.max = max(m.now.max, m.value)
	}
	ceiling := g.ceiling()
	return m, len(full) > 0 || before <= ceiling && m.now.max > ceiling
}

func (n *gasMinute) add(g Gas, value float64, span time.Duration) {
	if g.Sensor.Detection > 0 && value < g.Sensor.Detection {
		n.below += span
		return
	}
	n.known += span
	n.sum += value * span.Hours()
	n.max = max(n.max, value)
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

// last gives the minutes of a window that ends now.
func (m gasMemory) last(window time.Duration) []gasMinute {
	return m.minutes[max(0, len(m.minutes)-int(window/time.Minute)):]
}

// tape lays minutes on a tape in their order, as a forecast needs it.
func (g Gas) tape(minutes []gasMinute) (breathing.Tape, error) {
	var t breathing.Tape
	for _, n := range minutes {
		if err := g.lay(&t, n, time.Minute-n.known-n.below); err != nil {
			return t, err
		}
	}
	return t, nil
}

// sum lays minutes on a tape that averages the same over all of them, in a few spans:
// what was read, with the worst minute apart since it bounds what was not.
func (g Gas) sum(minutes []gasMinute) (breathing.Tape, error) {
	var t breathing.Tape
	var all, worst gasMinute
	for _, n := range minutes {
		all.known, all.below, all.sum = all.known+n.known, all.below+n.below, all.sum+n.sum
		if n.mean() > worst.mean() {
			worst = n
		}
	}
	unknown := time.Duration(len(minutes))*time.Minute - all.known - all.below
	all.known, all.sum = all.known-worst.known, all.sum-worst.sum
	worst.below = 0
	if err := g.lay(&t, all, unknown); err != nil {
		return t, err
	}
	return t, g.lay(&t, worst, 0)
}

// highest lays the highest reading of some minutes on a tape, with what was not read.
func (g Gas) highest(minutes []gasMinute) (breathing.Tape, error) {
	var t breathing.Tape
	var all gasMinute
	for _, n := range minutes {
		all.known, all.below, all.max = all.known+n.known, all.below+n.below, max(all.max, n.max)
	}
	all.sum = all.max * all.known.Hours()
	return t, g.lay(&t, all, time.Duration(len(minutes))*time.Minute-all.known-all.below)
}

func (g Gas) lay(t *breathing.Tape, n gasMinute, unknown time.Duration) error {
	if unknown > 0 {
		if err := t.Unsampled(unknown, phrase.Say("no usable reading")); err != nil {
			return err
		}
	}
	if n.known > 0 {
		if err := t.Sampled(n.known, breathing.Measured(max(0, n.mean()))); err != nil {
			return err
		}
	}
	if n.below > 0 {
		return t.Sampled(n.below, breathing.BelowDetection(g.Sensor.Detection))
	}
	return nil
}

// mean of what was read in the minute, ppm; zero where nothing above the detection limit was.
func (n gasMinute) mean() float64 {
	if n.known <= 0 {
		return 0
	}
	return n.sum / n.known.Hours()
}
