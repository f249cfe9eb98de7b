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
}
