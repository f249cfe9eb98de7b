//go:build browser

package browsertest_test

import (
	"net/http/httptest"
	"testing"
	"time"

	"github.com/stretchr/testify/require"
	"go.uber.org/zap"

	"wetside/dashboard"
	"wetside/dashboard/viewtest"
	"wetside/rules"
	"wetside/sensors"
	"wetside/sensors/clocktest"
)

// site is a dashboard that serves an invented room on a real port.
type site struct {
	t      *testing.T
	clock  *clocktest.Manual
	scene  *viewtest.Scene
	view   *viewtest.View
	server *httptest.Server
	pages  *dashboard.Server
}

func evening() time.Time { return time.Date(2026, 1, 15, 19, 41, 0, 0, time.UTC) }

func newSite(t *testing.T) *site {
	t.Helper()
	scene, err := viewtest.NewScene("north", "North darkroom")
	require.NoError(t, err)
	s := &site{t: t, clock: clocktest.New(evening()), scene: scene}
	s.clock.Advance(time.Hour)
	shown, err := viewtest.Site(scene.Look(s.clock.Now()))
	require.NoError(t, err)
	s.view = viewtest.New(shown)
	s.pages, err = dashboard.New(dashboard.Options{View: s.view, Log: zap.NewNop(), Clock: s.clock})
	require.NoError(t, err)
	s.server = httptest.NewServer(s.pages)
	t.Cleanup(func() { s.pages.Close(); s.server.CloseClientConnections(); s.server.Close() })
	return s
}

func (s *site) host() string { return s.server.Listener.Addr().String() }

// pour fills the developer tray.
func (s *site) pour() {
	s.scene.Pour("developer", rules.Portion{Record: 41, Batch: "PD-17", What: "Paper developer", By: "Ida", Filled: evening().Add(-2 * time.Hour), Concentrate: 1, Water: 9, Volume: 2000})
	s.scene.Pour("fixer", rules.Portion{Record: 42, Batch: "FX-4", What: "Rapid fixer", By: "Ida", Filled: evening().Add(-2 * time.Hour), Concentrate: 1, Water: 4, Volume: 2000})
}

// temperatures of the three trays with a probe, in °C, and the air velocity in m/s.
type values struct{ developer, stop, fixer, duct float64 }

// minutesOf lets time pass with the probes speaking every 5 s; change is what
// each minute adds to the values.
func (s *site) minutesOf(n int, v, change values) values {
	for range n * 12 {
		s.clock.Advance(5 * time.Second)
		now := s.clock.Now()
		s.scene.Say("developer", v.developer, now)
		s.scene.Say("stop", v.stop, now)
		s.scene.Say("fixer", v.fixer, now)
		s.scene.Say("duct", v.duct, now)
		s.scene.Say("fan", 1, now)
		s.status(sensors.StateLive)
		s.scene.Look(now)
		v = values{v.developer + change.developer/12, v.stop + change.stop/12, v.fixer + change.fixer/12, v.duct + change.duct/12}
	}
	return v
}

func (s *site) status(state sensors.LineState) {
	now := s.clock.Now()
	st := sensors.LineStatus{ID: viewtest.Line, Path: "/dev/serial/by-id/usb-invented-bench-if00", Dialect: "checked text", State: state, Since: now,
		LastGood: now, EverGood: true, LastText: "developer 19.4 C *5A", LastBadText: "devel\u00b7\u00b719.4 C *00", Readings: 18231, Opens: 3, Bytes: 1182044, RatePerMinute: 60}
	st.Frames[0], st.Frames[2] = 18231, 4
	if state == sensors.StateGone {
		st.LastError = "device gone: the plug or the cable of the port"
	}
	s.scene.Status(st)
}

// show publishes the room as it is now.
func (s *site) show() *rules.Snapshot {
	snap := s.scene.Look(s.clock.Now())
	s.view.Show(snap)
	return snap
}

// keepShowing publishes the room again and again, as a loop that turns would.
func (s *site) keepShowing(t *testing.T) {
	t.Helper()
	s.show()
	stop := make(chan struct{})
	ended := make(chan struct{})
	go func() {
		defer close(ended)
		tick := time.NewTicker(500 * time.Millisecond)
		defer tick.Stop()
		for {
			select {
			case <-stop:
				return
			case <-tick.C:
				snap := *s.view.Now().Rooms[0]
				s.view.Show(&snap)
			}
		}
	}()
	t.Cleanup(func() { close(stop); <-ended })
}
