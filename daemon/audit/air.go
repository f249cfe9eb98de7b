package audit

import (
	"time"

	"wetside/daemon/settings"
	"wetside/dashboard/report"
	"wetside/rules/ventilation"
	"wetside/sensors"
	"wetside/sensors/quantity"
)

// air turns the raw values of a room's flow probe into air changes, by the duct,
// the volume and the corrections of the settings.
type air struct {
	room    settings.Room
	channel settings.Channel // the zero Channel when no flow is measured
	unit    quantity.Unit
}

// airOf takes the most direct flow probe of a room, as the rules do.
func airOf(room settings.Room) air {
	for _, kind := range []sensors.Kind{sensors.VolumeFlow, sensors.DuctVelocity, sensors.VelocityPressure} {
		for _, c := range room.Exhaust() {
			unit, err := quantity.ParseUnit(c.Unit)
			if err == nil && c.Kind == string(kind) {
				return air{room, c, unit}
			}
		}
	}
	return air{room: room}
}

// changes gives the air changes an hour of a raw value; false for one that means none.
func (a air) changes(raw float64, at time.Time) (float64, bool) {
	flow, err := a.flow(corrected(a.channel, a.unit.ToBase(raw), at))
	if err != nil {
		return 0, false
	}
	n, err := ventilation.AirChanges(flow, quantity.CubicMetre(a.room.Volume))
	return float64(n), err == nil
}

// corrected applies the correction of a channel that was in force.
func corrected(c settings.Channel, base float64, at time.Time) float64 {
	var full sensors.Channel
	for _, k := range c.Corrections {
		full.Corrections = append(full.Corrections, sensors.Correction(k))
	}
	return full.Correct(base, at)
}

// usualAir is the temperature for which the density of a velocity pressure is taken.
const usualAir quantity.Celsius = 20

func (a air) flow(value float64) (quantity.CubicMetrePerHour, error) {
	duct := ventilation.Duct{Area: quantity.SquareMetre(a.room.DuctArea), Factor: a.room.DuctFactor}
	switch sensors.Kind(a.channel.Kind) {
	case sensors.VolumeFlow:
		return quantity.CubicMetrePerHour(value), nil
	case sensors.DuctVelocity:
		return duct.Flow(quantity.MetrePerSecond(value))
	}
	pressure, err := ventilation.PressureAtAltitude(quantity.Metre(a.room.Altitude))
	if err != nil {
		return 0, err
	}
	rho, err := ventilation.AirDensity(usualAir, pressure)
	if err != nil {
		return 0, err
	}
	u, err := ventilation.VelocityFromPressure(quantity.Pascal(value), rho)
	if err != nil {
		return 0, err
	}
	return duct.Flow(u)
}

// minutes sums up the air over each minute in which a session was open.
type minutes struct {
	air
	list []minute
}

type minute struct {
	at        time.Time
	readings  int
	sum       float64
	low, high float64
}

// newMinutes lays out every minute of the open times, those without a reading too.
func newMinutes(a air, s *evening) *minutes {
	m := &minutes{air: a}
	for _, open := range s.open {
		for at := open.From.Truncate(time.Minute); at.Before(open.To); at = at.Add(time.Minute) {
			if n := len(m.list); n == 0 || at.After(m.list[n-1].at) {
				m.list = append(m.list, minute{at: at})
			}
		}
	}
	return m
}

// take adds a good reading to its minute, if that is one of the session.
func (m *minutes) take(at time.Time, raw float64) {
	i := m.index(at)
	if i < 0 {
		return
	}
	v, ok := m.changes(raw, at)
	if !ok {
		return
	}
	p := &m.list[i]
	if p.readings == 0 {
		p.low, p.high = v, v
	}
	p.low, p.high = min(p.low, v), max(p.high, v)
	p.sum, p.readings = p.sum+v, p.readings+1
}

// index finds the minute of a moment; -1 when the session was not open then.
func (m *minutes) index(at time.Time) int {
	low, high := 0, len(m.list)
	for low < high {
		if middle := (low + high) / 2; m.list[middle].at.After(at) {
			high = middle
		} else {
			low = middle + 1
		}
	}
	if low == 0 || at.Sub(m.list[low-1].at) >= time.Minute {
		return -1
	}
	return low - 1
}

// finish gives the minutes of a session, the lowest of their means and the typical one.
func (m *minutes) finish(session int) (list []report.Minute, lowest, typical *float64) {
	var means []float64
	for _, p := range m.list {
		out := report.Minute{Session: session, At: p.at, Readings: p.readings}
		if p.readings > 0 {
			mean := p.sum / float64(p.readings)
			out.Low, out.Mean, out.Highest = &p.low, &mean, &p.high
			means = append(means, mean)
			if lowest == nil || mean < *lowest {
				lowest = &mean
			}
		}
		list = append(list, out)
	}
	return list, lowest, report.Median(means)
}
