package settings_test

import (
	"fmt"
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"wetside/configs"
	"wetside/daemon/config"
	"wetside/daemon/history"
	"wetside/daemon/settings"
	"wetside/sensors/clocktest"
)

func demo(t require.TestingT) config.Config {
	c, err := config.Parse("demo.toml", configs.Demo)
	require.NoError(t, err)
	return c
}

func TestSettingsAreRecordedWhenTheyChange(t *testing.T) {
	dir := t.TempDir()
	store, err := history.Open(t.Context(), history.Options{Dir: dir, Clock: clocktest.New(time.Date(2026, 10, 14, 17, 0, 0, 0, time.UTC)), Zone: time.UTC})
	require.NoError(t, err)
	defer func() { require.NoError(t, store.Close()) }()
	c := demo(t)
	c.Zone, err = time.LoadLocation("Europe/Vienna")
	require.NoError(t, err)
	require.NoError(t, settings.Keep(t.Context(), store, settings.Of(c)))
	require.NoError(t, settings.Keep(t.Context(), store, settings.Of(demo(t))))
	require.NoError(t, settings.Keep(t.Context(), store, settings.Of(c)))
	c.Rooms[0].Volume = 33
	require.NoError(t, settings.Keep(t.Context(), store, settings.Of(c)))
	require.NoError(t, settings.Keep(t.Context(), store, settings.Of(c)))
	known, err := settings.Versions(t.Context(), &store.Reader)
	require.NoError(t, err)
	require.Len(t, known, 4, "the same twice in a row is one record")
	require.InDelta(t, 30, known[2].Rooms[0].Volume, 0)
	require.InDelta(t, 33, known[3].Rooms[0].Volume, 0)
	zone, err := settings.Zone(t.Context(), dir)
	require.NoError(t, err)
	require.Equal(t, "Europe/Vienna", zone.String())
}

func ExampleOf() {
	c, err := config.Parse("demo.toml", configs.Demo)
	if err != nil {
		fmt.Println(err)
		return
	}
	r := settings.Of(c).Rooms[0]
	fmt.Println(r.ID, r.Volume, r.Required[0].Kind, r.Required[0].Value)
	// Output: practice 30 air changes 6
}
