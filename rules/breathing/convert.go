package breathing

import (
	"math"

	"wetside/sensors/quantity"
	"wetside/sensors/quantity/phrase"
)

// LitrePerMole is the volume that a mole of gas takes up.
type LitrePerMole float64

// ConventionalMolarVolume is the rounded 24.45 L/mol at 25 °C and 1 atm by which
// published limits are converted; the exact value is 24.465.
const ConventionalMolarVolume LitrePerMole = 24.45

// MolarVolume gives R·T/p, textbook formula.
func MolarVolume(temp quantity.Celsius, pressure quantity.Pascal) (LitrePerMole, error) {
	if !(temp.Kelvin() > 0 && pressure > 0 && temp.Kelvin()/float64(pressure) <= math.MaxFloat64) {
		return 0, phrase.Errorf("no molar volume at %s and %s: expected a temperature above absolute zero and a pressure above zero", temp.To(0),
			pressure.To(0))
	}
	return LitrePerMole(8.314463 * temp.Kelvin() / float64(pressure) * 1000), nil
}

// ToMass turns a volume fraction into a mass concentration, ppm·MW/Vm.
func ToMass(c quantity.PartsPerMillion, m quantity.GramPerMole, v LitrePerMole) quantity.MilligramPerCubicMetre {
	return quantity.MilligramPerCubicMetre(float64(c) * float64(m) / float64(v))
}

// ToFraction turns a mass concentration into a volume fraction, (mg/m³)·Vm/MW.
func ToFraction(c quantity.MilligramPerCubicMetre, m quantity.GramPerMole, v LitrePerMole) quantity.PartsPerMillion {
	return quantity.PartsPerMillion(float64(c) * float64(v) / float64(m))
}
