package simroom

import (
	"math"
	"testing"
	"time"

	"github.com/stretchr/testify/require"
)

// halfHumid is the vapour in air of 20 °C at 50 % relative humidity, in g/m³.
func halfHumid() float64 { return 0.5 * saturation(20) }

func settle(t *tray, air, vapour float64) float64 {
	for range 48 * 360 {
		t.step(10*time.Second, air, vapour)
	}
	return t.bath.level
}

// Newton's law of cooling: (T - Ta) falls to 1/e in C/UA. A covered tray that
// does not dry is the linear case.
func TestATrayThatDoesNotDryCoolsByNewtonsLaw(t *testing.T) {
	bath, constant := store{trayHeat, 24}, trayHeat/trayLoss
	bath.step(time.Duration(constant*float64(time.Second)), 0, link{trayLoss, 20})
	require.InDelta(t, 20+4/math.E, bath.level, 1e-6)
}

// The bounds are the estimate that the physics was made to: a time constant of
// 65 to 115 min for 2 L (computed from an assumed loss of 1.2 to 2.2 W/K), and a
// resting value a kelvin or two below the air (from memory).
func TestAnOpenTrayCoolsAsTraysAreSaidTo(t *testing.T) {
	var bath tray
	bath.fill(20)
	rest := settle(&bath, 20, halfHumid())
	require.InDelta(t, 1.5, 20-rest, 0.5)

	bath.fill(rest + 4)
	falls := map[int][2]float64{30: {0.9, 1.5}, 60: {1.6, 2.4}, 120: {2.6, 3.4}}
	for minute := 1; minute <= 120; minute++ {
		for range 6 {
			bath.step(10*time.Second, 20, halfHumid())
		}
		if want, ok := falls[minute]; ok {
			require.GreaterOrEqual(t, rest+4-bath.bath.level, want[0], "after %d min", minute)
			require.LessOrEqual(t, rest+4-bath.bath.level, want[1], "after %d min", minute)
		}
	}
	constant := 120 / math.Log(4/(bath.bath.level-rest))
	require.InDelta(t, 90, constant, 25, "minutes")
}

func TestHeatLostIsHeatGivenAway(t *testing.T) {
	var bath tray
	bath.fill(24)
	given := 0.0
	for range 3600 {
		was := bath.bath.level
		rate, _ := bath.drying(halfHumid())
		bath.step(time.Second, 20, halfHumid())
		given += trayLoss*((was+bath.bath.level)/2-20) + latentHeat*rate
	}
	require.InEpsilon(t, trayHeat*(24-bath.bath.level), given, 1e-3)
}

func TestALidKeepsTheWaterIn(t *testing.T) {
	var open, covered tray
	open.fill(22)
	covered.fill(22)
	covered.covered = true
	a, _ := open.drying(halfHumid())
	b, _ := covered.drying(halfHumid())
	require.InEpsilon(t, a*coverLeaves, b, 1e-9)
	require.Greater(t, settle(&covered, 20, halfHumid()), settle(&open, 20, halfHumid())+1)
	var empty tray
	c, _ := empty.drying(halfHumid())
	require.Zero(t, c)
}

func TestAJacketWarmsATrayByAFewKelvinAndIsTakenAway(t *testing.T) {
	var bath tray
	bath.fill(18.5)
	bath.warm()
	for range 600 {
		bath.step(time.Second, 20, halfHumid())
	}
	warmed := bath.bath.level
	require.InDelta(t, 3, warmed-18.5, 1)
	require.LessOrEqual(t, bath.jacketFor, time.Duration(0))
	bath.step(time.Minute, 20, halfHumid())
	require.Less(t, bath.bath.level, warmed)
}
