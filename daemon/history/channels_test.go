package history_test

import (
	"testing"

	"github.com/stretchr/testify/require"

	"wetside/daemon/history"
	"wetside/sensors"
	"wetside/sensors/quantity"
)

func TestAChannelWithSamplesKeepsItsUnit(t *testing.T) {
	clock := newHandClock(evening())
	s := open(t, t.TempDir(), clock)
	other := bath(t, "tray")
	var err error
	other.Unit, err = quantity.ParseUnit("F")
	require.NoError(t, err)
	require.NoError(t, s.RegisterChannels(t.Context(), "wet", []sensors.Channel{other}), "it has no samples yet")
	fill(t, s, clock, 1)
	err = s.RegisterChannels(t.Context(), "wet", []sensors.Channel{bath(t, "tray")})
	require.ErrorIs(t, err, history.ErrUnitChanged)
	require.ErrorContains(t, err, "give the channel a new name")
	require.True(t, s.Health().Writable)
	require.NoError(t, s.RegisterChannels(t.Context(), "wet", []sensors.Channel{other}))
}
