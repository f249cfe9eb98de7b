package rules

import (
	"math"
	"time"

	"wetside/rules/breathing"
	"wetside/sensors"
	"wetside/sensors/quantity"
)

// Gas is a gas channel that is set against limits.
type Gas struct {
	Channel sensors.ChannelID
	Agent   breathing.Agent
	// Sensor is what the sensor can tell, in ppm.
	Sensor breathing.Sensor
	// Limits are the rows switched on for this room.
	Limits []breathing.Limit
}

// gasMinute is what was read in one minute: compact enough to keep a working day.
type gasMinute struct {
	known, below time.Duration // time with a value, and below the detection limit
	sum          float64       // ppm x hours of the time with a value
	max          float64       // ppm
}

// keptMinutes cover the longest window of the usual limit rows, 10 h.
const keptMinutes = 600

// gasMemory is the day of one gas channel in minutes of monotonic time, so that
// a clock set in between moves nothing.
type gasMemory struct {
	minutes []gasMinute // complete ones, oldest first
	full    int         // how many were ever complete
	now     gasMinute   // the one under way
	begun   bool
	at      time.Duration
	value   float64 // read last, ppm
	good    bool
	judged  []breathing.Finding
	outlook string
}

// longestHeld is the longest time between two looks for which a reading still holds.
const longestHeld = time.Minute

// take adds the time since the last look by what was read then, and gives whether
// there is something new to judge: a minute that is complete, or a reading above a ceiling.
func (m gasMemory) take(g Gas, c ChannelView, now time.Duration) (gasMemory, bool) {
	if !m.begun {
		m.begun, m.at = true, now
	}
	full := m.full
	held := m.good && now-m.at <= longestHeld
	for m.at < now {
		end := min(now, m.at.Truncate(time.Minute)+time.Minute)
		if held {
			m.now.add(g, m.value, end-m.at)
		}
		if m.at = end; end%time.Minute == 0 {
			kept := m.minutes[max(0, len(m.minutes)-keptMinutes+1):]
			m.minutes, m.now = append(kept[:len(kept):len(kept)], m.now), gasMinute{}
			m.full++
		}
	}
	before := m.now.max
	m.value, m.good = c.Good()
	m.good = m.good && m.value >= 0 && !math.IsInf(m.value, 0)
	if m.good {
		m.now.max = max(m.now.max, m.value)
	}
	ceiling := g.ceiling()
	return m, m.full != full || before <= ceiling && m.now.max > ceiling
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

// tape lays the last minutes on a tape; the highest of each minute instead of its
// mean where a ceiling is judged. Like minutes become one span.
func (m gasMemory) tape(g Gas, window time.Duration, highest bool) (breathing.Tape, error) {
	var t breathing.Tape
	minutes := m.minutes[max(0, len(m.minutes)-int(window/time.Minute)):]
	for i := 0; i < len(minutes); {
		n, alike := minutes[i], 1
		for i+alike < len(minutes) && minutes[i+alike] == n {
			alike++
		}
		if err := n.lay(&t, g, alike, highest); err != nil {
			return t, err
		}
		i += alike
	}
	return t, nil
}

// lay adds a number of like minutes.
func (n gasMinute) lay(t *breathing.Tape, g Gas, alike int, highest bool) error {
	times := func(d time.Duration) time.Duration { return d * time.Duration(alike) }
	if n.known > 0 {
		value := n.mean()
		if highest {
			value = n.max
		}
		if err := t.Sampled(times(n.known), breathing.Measured(value)); err != nil {
			return err
		}
	}
	if n.below > 0 {
		if err := t.Sampled(times(n.below), breathing.BelowDetection(g.Sensor.Detection)); err != nil {
			return err
		}
	}
	if rest := time.Minute - n.known - n.below; rest > 0 {
		return t.Unsampled(times(rest), "no usable reading")
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

// last is the mean of the last full minute.
func (m gasMemory) last() float64 {
	if len(m.minutes) == 0 {
		return 0
	}
	return m.minutes[len(m.minutes)-1].mean()
}
