package truth_test

import (
	"math"
	"math/rand/v2"
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"wetside/rules/truth"
	"wetside/sensors"
)

// Half an hour of a duct probe whose noise shows, and of a bath probe whose noise does not:
// of the first it is known how long it may stand still, of the second nobody can tell.
func TestHowLongAValueMayStandStillIsKnownWhereItsNoiseShows(t *testing.T) {
	duct, bath := channel(t, "VEL", sensors.DuctVelocity), channel(t, "DEV", sensors.BathTemperature)
	watch, dice := truth.NewWatch([]sensors.Channel{duct, bath}), rand.New(rand.NewPCG(3, 3))
	require.Empty(t, watch.FlatAfters(), "nothing was read yet")
	for second := range 1800 {
		now := instant(time.Duration(second) * time.Second)
		v := math.Round((4+0.1*dice.NormFloat64())*100) / 100
		watch.Take(sensors.Reading{Channel: duct.ID, At: now, Raw: v, Value: v, Grade: sensors.Good})
		watch.Take(sensors.Reading{Channel: bath.ID, At: now, Raw: 20, Value: 20, Grade: sensors.Good})
	}
	all := watch.FlatAfters()
	require.Len(t, all, 1)
	require.GreaterOrEqual(t, all[duct.ID], 2*time.Minute)
	require.Less(t, all[duct.ID], 10*time.Minute)
	one, known := watch.FlatAfter(duct.ID)
	require.True(t, known)
	require.Equal(t, one, all[duct.ID])
	watch.Take(reading(duct.ID, 0, 1800*time.Second)) // the fan was stopped
	_, known = watch.FlatAfter(duct.ID)
	require.False(t, known)
	_, known = watch.FlatAfter("nothing")
	require.False(t, known)
}

// Where people make the noise, two other probes have to show that it goes on.
func TestHowLongAValueOfTheAirMayStandIsKnownBesideTwoOthersOfIt(t *testing.T) {
	for _, beside := range []bool{true, false} {
		channels := []sensors.Channel{channel(t, "AIR", sensors.AirTemperature)}
		if beside {
			channels = append(channels, channel(t, "CO2", sensors.CarbonDioxide), channel(t, "HUM", sensors.RelativeHumidity))
		}
		watch, dice := truth.NewWatch(channels), rand.New(rand.NewPCG(3, 3))
		for second := range 1800 {
			for _, c := range channels {
				watch.Take(reading(c.ID, math.Round(800+4*dice.NormFloat64())/10, time.Duration(second)*time.Second))
			}
		}
		after, known := watch.FlatAfter("AIR")
		require.Equal(t, beside, known)
		require.LessOrEqual(t, after, 3*time.Minute)
	}
}
