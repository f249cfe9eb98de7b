package past

import (
	"slices"
	"time"

	"wetside/rules/ventilation"
	"wetside/sensors"
	"wetside/sensors/quantity"
)

// FlowProbe is a probe for the flow of air in a room, with how its raw readings become a flow.
type FlowProbe struct {
	Channel sensors.Channel
	probe   ventilation.FlowProbe
	volume  quantity.CubicMetre
}

// FlowProbes finds the probes as the rules do, the most direct first.
func (r Room) FlowProbes() []FlowProbe {
	var list []FlowProbe
	duct := ventilation.Duct{Area: quantity.SquareMetre(r.DuctArea), Factor: r.DuctFactor}
	for c := range ventilation.Directly(r.exhaust(), func(c *Channel) sensors.Kind { return sensors.Kind(c.Kind) }) {
		if _, err := quantity.ParseUnit(c.Unit); err == nil {
			probe := ventilation.FlowProbe{Kind: sensors.Kind(c.Kind), Duct: duct, Altitude: quantity.Metre(r.Altitude)}
			list = append(list, FlowProbe{c.Sensor(), probe, quantity.CubicMetre(r.Volume)})
		}
	}
	return list
}

// Leading says on which of several probes, the most direct first, the flow rested at a moment,
// by what each of them measured: its place among them; the first where none was good, and false.
func Leading(tracks []*Track, at time.Time) (place int, known bool) {
	lead, known := ventilation.Leading(slices.Values(tracks), func(t *Track) bool {
		_, good := t.At(at)
		return good
	})
	return slices.Index(tracks, lead), known
}

// NeedsTemperature says whether the flow depends on how warm the air is.
func (p *FlowProbe) NeedsTemperature() bool { return p.probe.Kind == sensors.VelocityPressure }

// Flow is the flow that a reading stands for, by the correction in force at its time
// and the temperature of the air then, if it was measured.
func (p *FlowProbe) Flow(r Reading, air ventilation.Optional[quantity.Celsius]) (quantity.CubicMetrePerHour, error) {
	return p.probe.Flow(value(&p.Channel, r), air)
}

// AirChanges is the same in air changes an hour.
func (p *FlowProbe) AirChanges(r Reading, air ventilation.Optional[quantity.Celsius]) (quantity.PerHour, error) {
	flow, err := p.Flow(r, air)
	if err != nil {
		return 0, err
	}
	return ventilation.AirChanges(flow, p.volume)
}

// AirTemperatures lists the channels that say how warm the air of the room is, the first
// good one counts.
func (r Room) AirTemperatures() []Channel {
	return slices.DeleteFunc(r.exhaust(), func(c Channel) bool { return c.Kind != string(sensors.AirTemperature) })
}

// Demand is what is asked of the air of the room at a moment.
func (r Room) Demand(at time.Time) (ventilation.Demand, error) {
	size := ventilation.Room{Volume: quantity.CubicMetre(r.Volume), Floor: quantity.SquareMetre(r.Floor),
		Surface: quantity.SquareMetre(r.Surface)}
	return ventilation.Strictest(ventilation.InForce(r.Required, at), size)
}

// FlowLimits are the flows at which the state of the room's air changes at a moment; the
// zero Limits where nothing was asked and nothing commissioned.
func (r Room) FlowLimits(at time.Time) ventilation.Limits {
	demand, _ := r.Demand(at) // where that can't be told, nothing is asked
	if c := r.Commissioned; c != nil {
		derived, err := ventilation.LimitsFor(quantity.CubicMetrePerHour(c.Flow), quantity.Percent(c.Uncertainty), demand.Exhaust)
		if err == nil {
			return derived
		}
	}
	return ventilation.RequiredLimits(demand.Exhaust)
}
