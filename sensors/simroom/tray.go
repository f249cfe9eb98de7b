package simroom

import "time"

// A tray of 2 L for 8x10 in paper. The losses are invented so that it behaves as
// trays are said to: a time constant of 65 to 115 min, and a resting value a
// kelvin or two below the air because of evaporation.
const (
	trayHeat     = 2 * 4180.0 // J/K
	trayArea     = 0.075      // m²
	trayLoss     = 1.15       // W/K to the air, by convection, radiation and the bench
	trayDrying   = 0.0015     // m/s, of water vapour off a still surface
	coverLeaves  = 0.05       // of what leaves an open tray, a covered one lets out
	jacketHeat   = 1 * 4180.0 // J/K: a litre of hot water round the tray
	jacketHot    = 38.0       // °C
	jacketGrip   = 3.0        // W/K from jacket to tray
	jacketLoss   = 0.8        // W/K from jacket to the air
	jacketStands = 10 * time.Minute
)

// tray is an open tray of solution that trades heat with the air above it.
type tray struct {
	bath    store // °C
	filled  bool
	covered bool
	jacket  store // °C, while jacketFor lasts
	// jacketFor is how long the hot water is still to stand round the tray.
	jacketFor time.Duration
}

// fill pours fresh solution of a temperature in °C.
func (t *tray) fill(celsius float64) {
	*t = tray{bath: store{trayHeat, celsius}, filled: true}
}

// warm puts a hot-water jacket round the tray for ten minutes.
func (t *tray) warm() {
	t.jacket, t.jacketFor = store{jacketHeat, jacketHot}, jacketStands
}

// open is the share of its surface from which the tray gives off vapour.
func (t *tray) open() float64 {
	switch {
	case !t.filled:
		return 0
	case t.covered:
		return coverLeaves
	default:
		return 1
	}
}

// drying is the water that leaves the tray into air with some vapour, in g/s, and
// how fast that grows with the bath's temperature, in g/s per kelvin.
func (t *tray) drying(vapour float64) (rate, slope float64) {
	k := t.open() * trayDrying * trayArea
	return k * (saturation(t.bath.level) - vapour), k * saturationSlope(t.bath.level)
}

// step lets dt pass under air of a temperature in °C that holds vapour, in g/m³.
// Evaporation is taken as linear about the present temperature.
func (t *tray) step(dt time.Duration, air, vapour float64) {
	if !t.filled {
		return
	}
	rate, slope := t.drying(vapour)
	t.bath.step(dt, -latentHeat*rate, link{trayLoss, air}, link{latentHeat * slope, t.bath.level})
	if t.jacketFor > 0 {
		t.jacketFor -= dt
		trade(&t.jacket, &t.bath, jacketGrip, dt)
		t.jacket.step(dt, 0, link{jacketLoss, air})
	}
}
