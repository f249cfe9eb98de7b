package simroom

import (
	"math"
	"time"
)

// The room and the corridor that its make-up air comes from; a cold evening. The
// figures are invented but for those with a source.
const (
	roomVolume    = 30.0         // m³
	roomHeat      = 4 * 36_000.0 // J/K: the air and what warms up with it
	wallLoss      = 150.0        // W/K
	corridor      = 17.5         // °C, walls as well
	corridorDry   = 0.45         // relative humidity, 0 to 1
	corridorCO2   = 420.0        // ppm
	airHeat       = 1210.0       // J/(m³·K)
	seepage       = 9.0 / 3600   // m³/s through cracks with the fan at rest
	personHeat    = 75.0         // W
	personWater   = 50.0 / 3600  // g/s
	personCO2     = 5.2          // ppm·m³/s: 0.0052 L/s at rest (ASTM D6245, from memory)
	enlargersHeat = 15.0         // W a person
)

// Vapour off a bath: k·A·(equilibrium - room) with k = 0.83 cm/s·(18/M)^(1/3),
// a correlation of the US EPA's type (from memory). A model, not a measurement.
const (
	acidMolar = 60.05   // g/mol
	acidAway  = 0.00556 // m/s
	acidOver  = 69.9    // mg/m³ over 1 % acetic acid at 20 °C: 28 ppm, undissociated (computed)
	acidWarm  = 6300.0  // K (from memory)
	so2Molar  = 64.07   // g/mol
	so2Away   = 0.00544 // m/s
	so2Over   = 14.4    // mg/m³ over a fixer at pH 6 at 25 °C: 5.5 ppm (computed)
	so2Warm   = 2900.0  // K (Sander 2023, Henry's law constants v5.0.0)
	molarAir  = 24.45   // L/mol at 25 °C, as the limits are printed
)

// air is the room as one well-mixed zone.
type air struct {
	heat  store // °C
	water store // g/m³
	acid  store // mg/m³ of acetic acid
	so2   store // mg/m³ of sulfur dioxide
	co2   store // ppm
}

// freshAir is a room that has stood open to the corridor.
func freshAir() air {
	return air{
		heat:  store{roomHeat, corridor},
		water: store{roomVolume, corridorDry * saturation(corridor)},
		acid:  store{roomVolume, 0},
		so2:   store{roomVolume, 0},
		co2:   store{roomVolume, corridorCO2},
	}
}

// humidity is the relative humidity in per cent.
func (a *air) humidity() float64 { return 100 * min(1, a.water.level/saturation(a.heat.level)) }

// acidPPM and so2PPM are the gases as their cells show them.
func (a *air) acidPPM() float64 { return a.acid.level * molarAir / acidMolar }
func (a *air) so2PPM() float64  { return a.so2.level * molarAir / so2Molar }

// vent is what the fan and the people in the room do to its air.
type vent struct {
	flow   float64 // m³/h through the duct
	people int
}

// step lets dt pass with the trays standing as they are.
func (a *air) step(dt time.Duration, v vent, trays *trays) {
	people := float64(v.people)
	fresh := seepage + v.flow/3600
	water, heat := people*personWater, people*(personHeat+enlargersHeat)
	for i := range trays {
		rate, _ := trays[i].drying(a.water.level)
		water += rate
	}
	a.heat.step(dt, heat, link{wallLoss, corridor}, link{fresh * airHeat, corridor})
	a.water.step(dt, water, link{fresh, corridorDry * saturation(corridor)})
	a.co2.step(dt, people*personCO2, link{fresh, corridorCO2})
	a.acid.step(dt, 0, link{fresh, 0}, trays[stopBath].gives(acidAway, acidOver*fasterWhenWarmer(acidWarm, 20, trays[stopBath].bath.level)))
	a.so2.step(dt, 0, link{fresh, 0}, trays[fixer1].so2(), trays[fixer2].so2())
}

// gives is the trade of a tray's surface with the room: k in m/s, equilibrium in mg/m³.
func (t *tray) gives(k, equilibrium float64) link {
	return link{k * trayArea * t.open(), equilibrium}
}

func (t *tray) so2() link {
	return t.gives(so2Away, so2Over*fasterWhenWarmer(so2Warm, 25, t.bath.level))
}

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
