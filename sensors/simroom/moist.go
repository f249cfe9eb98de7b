package simroom

import "math"

// zeroCelsius is 0 °C in kelvin.
const zeroCelsius = 273.15

// latentHeat is what evaporating water takes with it near 20 °C, in J/g (from memory).
const latentHeat = 2450.0

// saturation is the water vapour that air at t °C can hold, in g/m³: Magnus'
// formula for the pressure over water and the gas law (both from memory).
func saturation(t float64) float64 {
	pascal := 610.94 * math.Exp(17.625*t/(t+243.04))
	return 1000 * pascal / (461.5 * (t + zeroCelsius))
}

// saturationSlope is how fast saturation grows with temperature, in g/m³ per kelvin.
func saturationSlope(t float64) float64 {
	return (saturation(t+0.05) - saturation(t-0.05)) / 0.1
}

// fasterWhenWarmer scales a vapour pressure known at one temperature to another,
// both in °C, by van 't Hoff's law with the temperature coefficient k in kelvin.
func fasterWhenWarmer(k, from, to float64) float64 {
	return math.Exp(k * (1/(from+zeroCelsius) - 1/(to+zeroCelsius)))
}
