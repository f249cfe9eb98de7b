package manysites

import (
	"context"
	"encoding/json"
	"math"
	"math/rand/v2"
	"net/http/httptest"
	"testing"
	"time"

	"github.com/stretchr/testify/require"
	"go.uber.org/zap"

	"wetside/configs"
	"wetside/daemon/audit"
	"wetside/daemon/centre"
	"wetside/daemon/centre/wire"
	"wetside/daemon/config"
	"wetside/daemon/history"
	"wetside/daemon/uplink"
	"wetside/rules"
	"wetside/rules/alarm"
	"wetside/rules/breathing"
	"wetside/rules/session"
	"wetside/sensors"
	"wetside/sensors/clocktest"
	"wetside/sensors/quantity/phrase"
)

// site is an invented site with a file of its own, which sends to a centre.
type site struct {
	testing.TB
	clock *clocktest.Manual
	store *history.Store
	room  config.Room
	rng   *rand.Rand
}

// newSite opens the history of a site of the demo's room, some weeks ago.
func newSite(t testing.TB) *site {
	begun := time.Now().UTC().Truncate(24*time.Hour).AddDate(0, 0, -7*weeks).Add(18 * time.Hour)
	s := &site{TB: t, clock: clocktest.New(begun), rng: rand.New(rand.NewPCG(1, 1))}
	var err error
	s.store, err = history.Open(t.Context(), history.Options{Dir: t.TempDir(), Clock: s.clock, Zone: time.UTC, Version: "test"})
	require.NoError(t, err)
	t.Cleanup(func() { require.NoError(t, s.store.Close()) })
	demo, err := config.Parse("demo.toml", configs.Demo)
	require.NoError(t, err)
	s.room = demo.Rooms[0]
	require.NoError(t, audit.Keep(t.Context(), s.store, demo.Settings()))
	require.NoError(t, s.store.RegisterChannels(t.Context(), s.room.ID, s.room.Channels))
	return s
}

func (s *site) record(kind string, e rules.Event) {
	content, err := json.Marshal(e)
	require.NoError(s, err)
	_, err = s.store.Record(s.Context(), history.Entry{Kind: kind, Room: s.room.ID, Content: content})
	require.NoError(s, err)
}

// evening is a class of three hours: every channel once a second, an alarm every half an hour that
// comes and goes, then the rest of half a week.
func (s *site) evening() {
	of := session.Session{Phase: session.Open, Title: "Class", Begun: s.clock.Now().Wall, Since: s.clock.Now().Wall}
	s.record(rules.SessionPhase, rules.Event{Subject: s.room.ID, To: string(of.Phase), Session: &of})
	for minute := range 180 {
		var b history.Batch
		for second := range 60 {
			for i, c := range s.room.Channels {
				raw := 2 + float64(i) + 0.3*math.Sin(float64(minute)/20) + 0.02*s.rng.NormFloat64()
				b.Samples = append(b.Samples, history.Sample{Channel: c.ID, At: s.clock.Now().Wall.Add(time.Duration(second) * time.Second),
					Raw: math.Round(raw*100) / 100, Grade: sensors.Good})
			}
		}
		require.NoError(s, s.store.Append(s.Context(), b))
		if minute%30 == 10 {
			s.alarm(alarm.Normal, alarm.Unacknowledged)
		}
		if minute%30 == 12 {
			s.alarm(alarm.Unacknowledged, alarm.Normal)
		}
		s.clock.Advance(time.Minute)
	}
	of.Phase, of.Since = session.Closed, s.clock.Now().Wall
	of.Tally = session.Tally{Trays: breathing.TrayTally{Open: 3 * time.Hour, Unproven: 10 * time.Minute}, Known: 170 * time.Minute,
		FanTime: 3 * time.Hour, To: s.clock.Now().Wall}
	s.record(rules.SessionPhase, rules.Event{Subject: s.room.ID, To: string(of.Phase), Session: &of})
	s.clock.Advance(81 * time.Hour)
	s.store.Settle(s.Context())
}

func (s *site) alarm(from, to alarm.State) {
	a := alarm.Alarm{ID: "air", State: to, Text: phrase.Say("The air does not move."), Urgent: true}
	s.record(rules.AlarmChange, rules.Event{Subject: "air", From: string(from), To: string(to), Alarm: &a})
}

// takes has the centre take everything of a site, and gives how many bytes that were, packed,
// without HTTP headers.
func (h *hall) takes(s *site) (bytes int) {
	key, err := h.store.AddSite(h.Context(), centre.NewSite{Name: "Site 1", Building: "Building 0"})
	require.NoError(h, err)
	server := httptest.NewServer(h.store.Handler(zap.NewNop()))
	defer server.Close()
	clock := clocktest.New(s.clock.Now().Wall) // of the sender alone, so that it is known when it waits
	sender, err := uplink.New(uplink.Options{URL: server.URL, Key: key, About: wire.About{Version: "test", Zone: "UTC"}, Book: s.store,
		Clock: clock, Log: zap.NewNop()})
	require.NoError(h, err)
	ctx, cancel := context.WithCancel(h.Context())
	ended := make(chan struct{})
	go func() { sender.Run(ctx); close(ended) }()
	clock.BlockUntil(1)
	cancel()
	<-ended
	require.True(h, sender.Standing().Complete, "%+v", sender.Standing())
	return int(sender.Standing().Bytes)
}
