package chem_test

import (
	"math"
	"testing"

	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"wetside/chem"
	"wetside/sensors/quantity"
)

func TestHotAndColdWater(t *testing.T) {
	// Derived with equal heat capacities: 1 L at 20 °C from 10 and 50 °C.
	blend, err := chem.Taps{Hot: 50, Cold: 10, Target: 20}.Blend(1000)
	require.NoError(t, err)
	require.InDelta(t, 250, float64(blend.Hot), 1e-9)
	require.InDelta(t, 750, float64(blend.Cold), 1e-9)
}

func TestATargetBeyondTheTapsIsRefused(t *testing.T) {
	_, err := chem.Taps{Hot: 50, Cold: 24, Target: 20}.Blend(1000)
	require.True(t, chem.IsRefusal(err))
	require.EqualError(t, err, "20.0 °C cannot be reached from 24.0 and 50.0 °C")
	for _, bad := range []chem.Taps{{Hot: 10, Cold: 50, Target: 20}, {Hot: 120, Cold: 10, Target: 20},
		{Hot: 50, Cold: quantity.Celsius(math.NaN()), Target: 20}} {
		_, err = bad.Blend(1000)
		require.Error(t, err)
		require.False(t, chem.IsRefusal(err))
	}
	_, err = chem.Taps{Hot: 50, Cold: 10, Target: 20}.Blend(0)
	require.Error(t, err)
}

func TestWaterMakesUpForAColdConcentrate(t *testing.T) {
	plan, err := parts(t, "1+4").Plan(1000)
	require.NoError(t, err)
	blend, err := chem.Taps{Hot: 50, Cold: 10, Target: 20}.BlendFor(plan, 12)
	require.NoError(t, err)
	mix, err := chem.MixTemperature(
		chem.VolumeAt{Volume: blend.Hot, Temperature: 50}, chem.VolumeAt{Volume: blend.Cold, Temperature: 10},
		chem.VolumeAt{Volume: plan.Concentrate, Temperature: 12})
	require.NoError(t, err)
	require.InDelta(t, 20, float64(mix), 1e-9)

	_, err = chem.Taps{Hot: 21, Cold: 10, Target: 20}.BlendFor(plan, 12)
	require.True(t, chem.IsRefusal(err))
	neat, err := parts(t, "1+0").Plan(1000)
	require.NoError(t, err)
	_, err = chem.Taps{Hot: 50, Cold: 10, Target: 20}.BlendFor(neat, 12)
	require.True(t, chem.IsRefusal(err))
	require.ErrorContains(t, err, "no water to temper")
}

func TestBlendReachesItsTarget(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		taps := chem.Taps{
			Cold:   quantity.Celsius(rapid.Float64Range(2, 20).Draw(t, "cold")),
			Hot:    quantity.Celsius(rapid.Float64Range(30, 70).Draw(t, "hot")),
			Target: quantity.Celsius(rapid.Float64Range(20, 30).Draw(t, "target")),
		}
		total := quantity.Millilitre(rapid.Float64Range(100, 5000).Draw(t, "total"))
		blend, err := taps.Blend(total)
		require.NoError(t, err)
		require.InEpsilon(t, float64(total), float64(blend.Hot+blend.Cold), 1e-12)
		got, err := chem.MixTemperature(chem.VolumeAt{Volume: blend.Hot, Temperature: taps.Hot}, chem.VolumeAt{Volume: blend.Cold,
			Temperature: taps.Cold})
		require.NoError(t, err)
		require.InDelta(t, float64(taps.Target), float64(got), 1e-9)
	})
}

func TestMixTemperatureRefusesNothing(t *testing.T) {
	_, err := chem.MixTemperature()
	require.Error(t, err)
	_, err = chem.MixTemperature(chem.VolumeAt{Volume: -1, Temperature: 20})
	require.Error(t, err)
	_, err = chem.MixTemperature(chem.VolumeAt{Volume: 1, Temperature: -3})
	require.EqualError(t, err, "-3 °C is not a water temperature: it must be between 0 and 100 °C")
}

func TestJacketBringsTheBathBack(t *testing.T) {
	bath := chem.VolumeAt{Volume: 2000, Temperature: 17}
	hot, err := chem.Jacket(bath, 20, 45)
	require.NoError(t, err)
	// 2 L x 3 K / 25 K: both end at 20 °C (heat balance).
	require.InDelta(t, 240, float64(hot), 1e-9)
	together, err := chem.MixTemperature(bath, chem.VolumeAt{Volume: hot, Temperature: 45})
	require.NoError(t, err)
	require.InDelta(t, 20, float64(together), 1e-9)

	hot, err = chem.Jacket(bath, 16, 45)
	require.NoError(t, err)
	require.Zero(t, hot)
	_, err = chem.Jacket(bath, 120, 45)
	require.Error(t, err)
	_, err = chem.Jacket(chem.VolumeAt{}, 20, 45)
	require.Error(t, err)
	_, err = chem.Jacket(bath, 20, 19)
	require.True(t, chem.IsRefusal(err))
}
