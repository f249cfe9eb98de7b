package quantity_test

import (
	"math"
	"testing"

	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"wetside/sensors/quantity"
)

// The other units are exact by definition (NIST Handbook 44, appendix C): 20 °C is 68 °F, a US
// fluid ounce is 29.5735295625 mL, 1 m³/h is 0.588578 cfm.
func TestAFigureIsRoundedOnceInTheUnitInWhichItIsRead(t *testing.T) {
	in := func(symbol string) quantity.Unit {
		u, err := quantity.ParseUnit(symbol)
		require.NoError(t, err)
		return u
	}
	for _, c := range []struct {
		figure      quantity.Figure
		inside, own string
		unit        string
	}{
		{quantity.Celsius(20).To(0.1), "20.0 °C", "68.0 °F", "F"},
		{quantity.Celsius(20.04).To(0.1).Short(), "20 °C", "68 °F", "F"},
		{quantity.Celsius(20.55555).To(0.1), "20.6 °C", "69.0 °F", "F"}, // 20.6 °C would be 69.1 °F
		{quantity.Celsius(2).To(0.1).Change(), "+2.0 K", "+3.6 °F", "F"},
		{quantity.Celsius(-2).To(0.1).Change(), "-2.0 K", "-3.6 °F", "F"},
		{quantity.Celsius(1.9).To(0.1).Gap(), "1.9 K", "3.4 °F", "F"},
		{quantity.Celsius(18).To(0.1).Bare(), "18.0", "64.4", "F"},
		{quantity.Celsius(18.25).To(0), "18.25 °C", "64.85 °F", "F"},
		{quantity.Celsius(-0.01).To(0.1), "0.0 °C", "32.0 °F", "F"},
		{quantity.CubicMetrePerHour(255).To(1), "255 m³/h", "150 cfm", "cfm"},
		{quantity.MetrePerSecond(0.508).To(0.01), "0.51 m/s", "100 fpm", "fpm"},
		{quantity.Pascal(-5).To(0.1), "-5.0 Pa", "-0.0201 in. w.g.", "inwg"},
		{quantity.Millilitre(1892.7).To(1), "1893 mL", "64.0 US fl oz", "floz"},
		{quantity.Millilitre(40).To(1), "40 mL", "1.35 US fl oz", "floz"},
		{quantity.Millilitre(1892.7).Litres(10), "1.89 L", "64.0 US fl oz", "floz"},
		{quantity.Millilitre(1892.7).Litres(10), "1.89 L", "1.89 L", "mL"},
		{quantity.Millilitre(250).To(1), "250 mL", "0.250 L", "L"},
	} {
		require.Equal(t, c.inside, c.figure.String())
		digits, unit := c.figure.In(in(c.unit))
		if unit != "" {
			unit = " " + unit
		}
		require.Equal(t, c.own, digits+unit)
	}
}

func TestAFigureOfNoDimensionIsANumber(t *testing.T) {
	require.Equal(t, "12.5", quantity.Dimension(0).Of(12.5, 0).String())
	require.Equal(t, "35.2 ppm", quantity.VolumeFraction.Of(35.21, 0.1).String())
}

func TestTheDigitsOfAFigureLieWithinItsStep(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		v := rapid.Float64Range(-1000, 1000).Draw(t, "value")
		places := rapid.IntRange(0, 4).Draw(t, "places")
		step := math.Pow10(-places)
		digits, _ := quantity.Temperature.Of(v, step).In(quantity.UnitsOf(quantity.Temperature)[0])
		read, err := quantity.Number(digits)
		require.NoError(t, err)
		require.LessOrEqual(t, math.Abs(read-v), step/2+1e-9)
	})
}
