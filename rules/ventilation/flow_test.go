package ventilation_test

import (
	"fmt"
	"math"
	"testing"

	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"wetside/rules/ventilation"
	"wetside/sensors/quantity"
	"wetside/sensors/quantity/phrase"
)

func TestDensityAndAltitude(t *testing.T) {
	// Textbook formula rho = p/(287.055 T) and the standard atmosphere.
	for _, c := range []struct {
		temp     quantity.Celsius
		pressure quantity.Pascal
		want     float64
	}{{20, 101325, 1.2041}, {25, 101325, 1.1839}} {
		rho, err := ventilation.AirDensity(c.temp, c.pressure)
		require.NoError(t, err)
		require.InDelta(t, c.want, float64(rho), 0.00005)
	}
	p, err := ventilation.PressureAtAltitude(1500)
	require.NoError(t, err)
	require.InDelta(t, 84556, float64(p), 1)
	p, err = ventilation.PressureAtAltitude(0)
	require.NoError(t, err)
	require.InDelta(t, 101325, float64(p), 1e-9)
}

func TestVelocityAgreesWithTheInchForm(t *testing.T) {
	// Textbook formula V[fpm] = 4005 sqrt(VP in. w.g.) at 0.075 lb/ft3 = 1.2014 kg/m3;
	// the exact factor is about 4008.5, so 0.1 % apart.
	for _, c := range []struct{ inches, fpm float64 }{{1, 4005}, {0.25, 2002.5}} {
		dp, _, err := quantity.Parse(quantity.Pressure, fmt.Sprintf("%ginwg", c.inches))
		require.NoError(t, err)
		v, err := ventilation.VelocityFromPressure(quantity.Pascal(dp), 1.2014)
		require.NoError(t, err)
		require.InEpsilon(t, c.fpm, float64(v)/0.3048*60, 0.0015)
	}
}

func TestFlowOfARoundDuct(t *testing.T) {
	// Textbook formula: 0.15 m duct, 4 m/s mean, 30 m3 room.
	area, err := ventilation.RoundDuct(0.15)
	require.NoError(t, err)
	flow, err := ventilation.Duct{Area: area, Factor: 1}.Flow(4)
	require.NoError(t, err)
	require.InDelta(t, 254.5, float64(flow), 0.1)
	n, err := ventilation.AirChanges(flow, 30)
	require.NoError(t, err)
	require.InDelta(t, 8.48, float64(n), 0.01)

	centre, err := ventilation.Duct{Area: area, Factor: 0.9}.Flow(4)
	require.NoError(t, err)
	require.InEpsilon(t, 0.9*float64(flow), float64(centre), 1e-12)
}

func TestMakeUpAndPressure(t *testing.T) {
	// Kodak J-314 (2002): 170 cfm exhaust for 150 cfm supply, 100 for 90, keeps the room negative.
	for _, c := range []struct{ supply, exhaust, ratio float64 }{{150, 170, 1.133}, {90, 100, 1.111}} {
		share, err := ventilation.MakeUp(quantity.CubicMetrePerHour(c.supply), quantity.CubicMetrePerHour(c.exhaust))
		require.NoError(t, err)
		require.InDelta(t, c.ratio, 100/float64(share), 0.001)
		require.Less(t, float64(share), 100.0)
	}
	// Sign: room minus neighbour, negative is inward flow (from memory).
	require.Equal(t, ventilation.Inward, ventilation.LeakAt(-2.49, 0.5))
	require.Equal(t, ventilation.Outward, ventilation.LeakAt(2.49, 0.5))
	require.Equal(t, ventilation.Balanced, ventilation.LeakAt(-0.4, 0.5))
}

func TestUnusableInputIsRefused(t *testing.T) {
	nan := math.NaN()
	for name, f := range map[string]func() (float64, error){
		"no volume":       func() (float64, error) { v, err := ventilation.AirChanges(100, 0); return float64(v), err },
		"negative volume": func() (float64, error) { v, err := ventilation.AirChanges(100, -3); return float64(v), err },
		"negative flow":   func() (float64, error) { v, err := ventilation.AirChanges(-1, 3); return float64(v), err },
		"NaN flow": func() (float64, error) {
			v, err := ventilation.AirChanges(quantity.CubicMetrePerHour(nan), 3)
			return float64(v), err
		},
		"duct of no area": func() (float64, error) { v, err := ventilation.Duct{Factor: 1}.Flow(4); return float64(v), err },
		"no factor":       func() (float64, error) { v, err := ventilation.Duct{Area: 1}.Flow(4); return float64(v), err },
		"negative velocity": func() (float64, error) {
			v, err := ventilation.Duct{Area: 1, Factor: 1}.Flow(-1)
			return float64(v), err
		},
		"exchanged hoses": func() (float64, error) { v, err := ventilation.VelocityFromPressure(-1, 1.2); return float64(v), err },
		"no density":      func() (float64, error) { v, err := ventilation.VelocityFromPressure(1, 0); return float64(v), err },
		"no air":          func() (float64, error) { v, err := ventilation.AirDensity(20, 0); return float64(v), err },
		"too cold":        func() (float64, error) { v, err := ventilation.AirDensity(-300, 101325); return float64(v), err },
		"space":           func() (float64, error) { v, err := ventilation.PressureAtAltitude(50000); return float64(v), err },
		"no diameter":     func() (float64, error) { v, err := ventilation.RoundDuct(0); return float64(v), err },
		"no exhaust":      func() (float64, error) { v, err := ventilation.MakeUp(10, 0); return float64(v), err },
		"no supply":       func() (float64, error) { v, err := ventilation.MakeUp(-1, 10); return float64(v), err },
	} {
		t.Run(name, func(t *testing.T) {
			v, err := f()
			require.Error(t, err)
			require.Zero(t, v)
		})
	}
}

func TestAirChangesScaleWithFlow(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		flow := quantity.CubicMetrePerHour(rapid.Float64Range(0, 1e5).Draw(t, "flow"))
		volume := quantity.CubicMetre(rapid.Float64Range(0.1, 1e4).Draw(t, "volume"))
		one, err := ventilation.AirChanges(flow, volume)
		require.NoError(t, err)
		two, err := ventilation.AirChanges(2*flow, volume)
		require.NoError(t, err)
		require.InDelta(t, 2*float64(one), float64(two), 1e-9*float64(two))
	})
}

// A duct of 15 cm diameter at 4 m/s, in a room of 30 m³.
func ExampleAirChanges() {
	area, _ := ventilation.RoundDuct(0.15)
	flow, _ := ventilation.Duct{Area: area, Factor: 1}.Flow(4)
	n, _ := ventilation.AirChanges(flow, 30)
	fmt.Printf("%.1f m³/h, %.2f air changes an hour\n", flow, n)
	// Output: 254.5 m³/h, 8.48 air changes an hour
}

// inFeet is a place that reads every figure in units of its own.
type inFeet struct{ phrase.Inside }

func (inFeet) Figure(f quantity.Figure) string { return "as feet: " + f.String() }

func TestAValueThatIsNotUsableIsToldInTheUnitsOfItsReader(t *testing.T) {
	_, err := ventilation.AirChanges(-3.5, 30)
	require.EqualError(t, err, "flow of -3.5 m³/h is not usable: expected zero or more")
	require.Equal(t, "flow of as feet: -3.5 m³/h is not usable: expected zero or more", phrase.Error(err, inFeet{}))
	for _, none := range []float64{math.NaN(), math.Inf(1), math.Inf(-1)} {
		_, err := ventilation.AirChanges(quantity.CubicMetrePerHour(none), 30)
		require.EqualError(t, err, fmt.Sprintf("flow of %g m³/h is not usable: expected zero or more", none))
	}
}
