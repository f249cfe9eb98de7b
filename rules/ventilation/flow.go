package ventilation

import (
	"math"

	"wetside/sensors/quantity"
	"wetside/sensors/quantity/phrase"
)

// gasConstantDryAir is in J/(kg·K): rho = p/(R·T), textbook formula.
const gasConstantDryAir = 287.055

// AirDensity gives the density of dry air, rho = p/(287.055·T), textbook formula.
// The temperature must lie between -50 and 100 °C, the pressure above zero.
func AirDensity(temp quantity.Celsius, pressure quantity.Pascal) (quantity.KilogramPerCubicMetre, error) {
	if !(temp >= -50 && temp <= 100) {
		return 0, phrase.Errorf("an air temperature of %s is not usable: expected %s to %s", temp.To(0), quantity.Celsius(-50).To(1).Bare(),
			quantity.Celsius(100).To(1))
	}
	if err := positive(phrase.Say("air pressure"), float64(pressure), "Pa"); err != nil {
		return 0, err
	}
	return quantity.KilogramPerCubicMetre(float64(pressure) / (gasConstantDryAir * temp.Kelvin())), nil
}

// PressureAtAltitude gives the air pressure of the standard atmosphere,
// 101325·(1 - 2.25577e-5·z)^5.2559, for -500 to 11000 m above sea level.
func PressureAtAltitude(altitude quantity.Metre) (quantity.Pascal, error) {
	if !(altitude >= -500 && altitude <= 11000) {
		return 0, phrase.Errorf("an altitude of %g m is not usable: expected -500 to 11000 m", float64(altitude))
	}
	return quantity.Pascal(101325 * math.Pow(1-2.25577e-5*float64(altitude), 5.2559)), nil
}

// VelocityFromPressure gives the air velocity sqrt(2·dp/rho) that a pitot tube
// shows as a velocity pressure, textbook formula. A negative pressure means
// that the two hoses are exchanged and is refused.
func VelocityFromPressure(dp quantity.Pascal, density quantity.KilogramPerCubicMetre) (quantity.MetrePerSecond, error) {
	if !(dp >= 0 && finite(float64(dp))) {
		return 0, phrase.Errorf("a velocity pressure of %s is not usable: expected zero or more; check whether the two hoses are exchanged",
			dp.To(0))
	}
	if err := positive(phrase.Say("air density"), float64(density), "kg/m³"); err != nil {
		return 0, err
	}
	return quantity.MetrePerSecond(math.Sqrt(2 * float64(dp) / float64(density))), nil
}

// Duct says where a velocity is measured.
type Duct struct {
	Area quantity.SquareMetre
	// Factor is the traverse factor: mean velocity over the area divided by the
	// velocity at the probe's place, above 0 and at most 2. A full traverse has 1.
	Factor float64
}

// RoundDuct gives the area of a round duct of the given inside diameter.
func RoundDuct(diameter quantity.Metre) (quantity.SquareMetre, error) {
	if err := positive(phrase.Say("duct diameter"), float64(diameter), "m"); err != nil {
		return 0, err
	}
	return quantity.SquareMetre(math.Pi / 4 * float64(diameter) * float64(diameter)), nil
}

// Flow gives velocity x area x traverse factor.
func (d Duct) Flow(velocity quantity.MetrePerSecond) (quantity.CubicMetrePerHour, error) {
	if err := positive(phrase.Say("duct area"), float64(d.Area), "m²"); err != nil {
		return 0, err
	}
	if !(d.Factor > 0 && d.Factor <= 2) {
		return 0, phrase.Errorf("a traverse factor of %g is not usable: expected above 0 and at most 2", d.Factor)
	}
	if err := notNegative(phrase.Say("air velocity"), float64(velocity), "m/s"); err != nil {
		return 0, err
	}
	return quantity.CubicMetrePerHour(float64(velocity) * float64(d.Area) * d.Factor * 3600), nil
}

// AirChanges gives how often an hour a flow renews the air of a volume, n = Q/V.
func AirChanges(flow quantity.CubicMetrePerHour, volume quantity.CubicMetre) (quantity.PerHour, error) {
	if err := positive(phrase.Say("room volume"), float64(volume), "m³"); err != nil {
		return 0, err
	}
	if err := notNegative(phrase.Say("flow"), float64(flow), "m³/h"); err != nil {
		return 0, err
	}
	return quantity.PerHour(float64(flow) / float64(volume)), nil
}

// MakeUp gives the supply as a share of the exhaust: below 100 % the room draws
// air in from its neighbours, above 100 % it pushes its air out.
func MakeUp(supply, exhaust quantity.CubicMetrePerHour) (quantity.Percent, error) {
	if err := positive(phrase.Say("exhaust flow"), float64(exhaust), "m³/h"); err != nil {
		return 0, err
	}
	if err := notNegative(phrase.Say("supply flow"), float64(supply), "m³/h"); err != nil {
		return 0, err
	}
	return quantity.Percent(float64(supply) / float64(exhaust) * 100), nil
}

// Leak says which way air passes through the gaps of a room.
type Leak string

// The ways air may pass through the gaps of a room.
const (
	Inward   Leak = "air is drawn into the room"
	Outward  Leak = "air is pushed out of the room"
	Balanced Leak = "no pressure that the probe can tell from zero"
)

// LeakAt reads a room pressure (room minus neighbour): negative is inward. Within
// the probe's resolution of zero nothing is claimed.
func LeakAt(room, resolution quantity.Pascal) Leak {
	switch {
	case -room > resolution:
		return Inward
	case room > resolution:
		return Outward
	default:
		return Balanced
	}
}

// finite says whether a number is one that can be measured: neither without end nor none at all.
func finite(v float64) bool { return math.Abs(v) <= math.MaxFloat64 }

func positive(what phrase.Sentence, v float64, unit string) error {
	if !(v > 0 && finite(v)) {
		return phrase.Errorf("%s of %s is not usable: expected more than zero", what, amount(v, unit))
	}
	return nil
}

func notNegative(what phrase.Sentence, v float64, unit string) error {
	if !(v >= 0 && finite(v)) {
		return phrase.Errorf("%s of %s is not usable: expected zero or more", what, amount(v, unit))
	}
	return nil
}

// amount is a value as an error tells it, in the units of whoever reads it where there are several.
func amount(v float64, unit string) any {
	dimensions := map[string]quantity.Dimension{"Pa": quantity.Pressure, "m/s": quantity.Velocity, "m³/h": quantity.VolumeFlow}
	if d, known := dimensions[unit]; known && finite(v) {
		return d.Of(v, 0)
	}
	return phrase.Say("%g %s", v, unit)
}
