package ventilation

import (
	"iter"

	"wetside/sensors"
	"wetside/sensors/quantity"
	"wetside/sensors/quantity/phrase"
)

// flowKinds lists what a flow can be measured by, the most direct first.
func flowKinds() [3]sensors.Kind {
	return [3]sensors.Kind{sensors.VolumeFlow, sensors.DuctVelocity, sensors.VelocityPressure}
}

// Directly gives those of a list that measure a flow, by their kinds: the most direct first, and
// those of one kind in the order of the list.
func Directly[T any](list []T, kind func(*T) sensors.Kind) iter.Seq[*T] {
	return func(yield func(*T) bool) {
		for _, wanted := range flowKinds() {
			for i := range list {
				if kind(&list[i]) == wanted && !yield(&list[i]) {
					return
				}
			}
		}
	}
}

// Leading is the one of several probes, the most direct first, on which the flow rests at a
// moment: the first that is good then. Where none is, it gives the first, which is not good;
// nil for no probe.
func Leading[T any](directly iter.Seq[*T], good func(*T) bool) (lead *T, known bool) {
	for probe := range directly {
		if good(probe) {
			return probe, true
		}
		if lead == nil {
			lead = probe
		}
	}
	return lead, false
}

// usualAir is the temperature for which the density of air is taken where none is
// measured: ten kelvin change the velocity by less than 2 %.
const usualAir quantity.Celsius = 20

// FlowProbe is a probe for the flow in a duct: everything that turns its readings into a flow.
type FlowProbe struct {
	Kind     sensors.Kind
	Duct     Duct
	Altitude quantity.Metre
}

// Flow gives the flow that a reading in the inside unit of the probe's kind stands for. The
// density behind a velocity pressure is that of the measured air, of [usualAir] where it is
// not known. A reading below zero within the probe's zero error is no flow; one further
// below is refused.
func (p FlowProbe) Flow(value float64, air Optional[quantity.Celsius]) (quantity.CubicMetrePerHour, error) {
	if zero := zeroError(p.Kind); value < 0 && value >= -zero {
		value = 0
	}
	switch p.Kind {
	case sensors.VolumeFlow:
		return quantity.CubicMetrePerHour(value), notNegative(phrase.Say("flow"), value, "m³/h")
	case sensors.DuctVelocity:
		return p.Duct.Flow(quantity.MetrePerSecond(value))
	case sensors.VelocityPressure:
		u, err := p.velocity(quantity.Pascal(value), air)
		if err != nil {
			return 0, err
		}
		return p.Duct.Flow(u)
	}
	return 0, phrase.Errorf("a channel of the kind %q measures no flow: expected %s, %s or %s", p.Kind, sensors.VolumeFlow,
		sensors.DuctVelocity, sensors.VelocityPressure)
}

// zeroError is how far below zero a probe may read in still air (choices of this program,
// at the coarse end of plain anemometers and pressure transmitters).
func zeroError(k sensors.Kind) float64 {
	switch k {
	case sensors.VolumeFlow:
		return 5 // m³/h
	case sensors.DuctVelocity:
		return 0.1 // m/s
	}
	return 0.5 // Pa
}

func (p FlowProbe) velocity(dp quantity.Pascal, air Optional[quantity.Celsius]) (quantity.MetrePerSecond, error) {
	temp, known := air.Get()
	if !known {
		temp = usualAir
	}
	pressure, err := PressureAtAltitude(p.Altitude)
	if err != nil {
		return 0, err
	}
	rho, err := AirDensity(temp, pressure)
	if err != nil {
		return 0, err
	}
	return VelocityFromPressure(dp, rho)
}
