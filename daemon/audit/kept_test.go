package audit_test

import (
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"wetside/configs"
	"wetside/daemon/audit"
	"wetside/daemon/config"
	"wetside/daemon/history"
	"wetside/sensors/clocktest"
)

func demo(t require.TestingT) config.Config {
	c, err := config.Parse("demo.toml", configs.Demo)
	require.NoError(t, err)
	return c
}

func TestSettingsAreRecordedWhenTheyChange(t *testing.T) {
	dir := t.TempDir()
	store, err := history.Open(t.Context(), history.Options{Dir: dir, Clock: clocktest.New(time.Date(2026, 10, 14, 17, 0, 0, 0, time.UTC)),
		Zone: time.UTC})
	require.NoError(t, err)
	defer func() { require.NoError(t, store.Close()) }()
	c := demo(t)
	c.Zone, err = time.LoadLocation("Europe/Vienna")
	require.NoError(t, err)
	require.NoError(t, audit.Keep(t.Context(), store, c.Settings()))
	require.NoError(t, audit.Keep(t.Context(), store, demo(t).Settings()))
	require.NoError(t, audit.Keep(t.Context(), store, c.Settings()))
	c.Rooms[0].Volume = 33
	require.NoError(t, audit.Keep(t.Context(), store, c.Settings()))
	require.NoError(t, audit.Keep(t.Context(), store, c.Settings()))
	known, err := audit.Versions(t.Context(), &store.Reader)
	require.NoError(t, err)
	require.Len(t, known, 4, "the same twice in a row is one record")
	require.InDelta(t, 30, known[2].Rooms[0].Volume, 0)
	require.InDelta(t, 33, known[3].Rooms[0].Volume, 0)
	zone, err := audit.Zone(t.Context(), dir)
	require.NoError(t, err)
	require.Equal(t, "Europe/Vienna", zone.String())
}
