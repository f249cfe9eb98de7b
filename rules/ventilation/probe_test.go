package ventilation_test

import (
	"math"
	"testing"

	"github.com/stretchr/testify/require"

	"wetside/rules/ventilation"
	"wetside/sensors"
	"wetside/sensors/quantity"
)

func flowProbe(t *testing.T, kind sensors.Kind) ventilation.FlowProbe {
	area, err := ventilation.RoundDuct(0.15)
	require.NoError(t, err)
	return ventilation.FlowProbe{Kind: kind, Duct: ventilation.Duct{Area: area, Factor: 1}}
}

// TestAVelocityPressureIsReadByTheDensityOfTheMeasuredAir checks V = sqrt(2 dp/rho) with
// rho = p/(287.055 T), both textbook formulas: 10 Pa are 4.076 m/s at 20 °C and 3.787 at -20 °C.
func TestAVelocityPressureIsReadByTheDensityOfTheMeasuredAir(t *testing.T) {
	probe := flowProbe(t, sensors.VelocityPressure)
	area := math.Pi / 4 * 0.15 * 0.15
	for _, c := range []struct {
		air  ventilation.Optional[quantity.Celsius]
		want float64 // m/s
	}{{ventilation.Optional[quantity.Celsius]{}, 4.0757}, {ventilation.Known(quantity.Celsius(20)), 4.0757},
		{ventilation.Known(quantity.Celsius(-20)), 3.7874}} {
		flow, err := probe.Flow(10, c.air)
		require.NoError(t, err)
		require.InEpsilon(t, c.want*area*3600, float64(flow), 1e-3)
	}
	_, err := probe.Flow(10, ventilation.Known(quantity.Celsius(200)))
	require.Error(t, err, "a temperature of the air that cannot be gives no flow")
}

func TestAReadingBelowZeroIsNoFlowWithinTheZeroErrorAndRefusedBeyond(t *testing.T) {
	for kind, slightly := range map[sensors.Kind]float64{sensors.VolumeFlow: -4, sensors.DuctVelocity: -0.05, sensors.VelocityPressure: -0.4} {
		probe := flowProbe(t, kind)
		flow, err := probe.Flow(slightly, ventilation.Optional[quantity.Celsius]{})
		require.NoError(t, err, kind)
		require.Zero(t, flow, kind)
		for _, none := range []float64{slightly * 10, math.NaN(), math.Inf(1)} {
			_, err := probe.Flow(none, ventilation.Optional[quantity.Celsius]{})
			require.Error(t, err, "%s of %g", kind, none)
		}
	}
	_, err := flowProbe(t, sensors.RoomPressure).Flow(1, ventilation.Optional[quantity.Celsius]{})
	require.ErrorContains(t, err, "measures no flow")
}
