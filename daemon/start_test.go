package daemon_test

import (
	"context"
	"net"
	"os"
	"path/filepath"
	"testing"
	"time"

	"github.com/prometheus/client_golang/prometheus"
	"github.com/prometheus/client_golang/prometheus/testutil"
	"github.com/stretchr/testify/require"
	"go.uber.org/zap"
	"go.uber.org/zap/zaptest/observer"

	"wetside/daemon"
	"wetside/daemon/config"
	"wetside/daemon/history"
	"wetside/rules"
	"wetside/sensors"
	"wetside/sensors/serialport"
)

// options are those of a daemon on real ports that do not exist.
func options(t testing.TB) daemon.Options {
	site, err := config.Load(filepath.Join("..", "configs", "one-room.toml"))
	require.NoError(t, err)
	site.Data, site.Listen = filepath.Join(t.TempDir(), "data"), "127.0.0.1:0"
	return daemon.Options{Config: site, Version: "test", Clock: sensors.NewSystemClock(1), Opener: serialport.New(),
		Log: zap.NewNop(), Registry: prometheus.NewPedanticRegistry()}
}

// running starts a daemon and ends it with the test.
func running(t *testing.T, o daemon.Options) *daemon.Daemon {
	d, err := daemon.New(t.Context(), o)
	require.NoError(t, err)
	ctx, cancel := context.WithCancel(context.Background())
	ended := make(chan error, 1)
	go func() { ended <- d.Run(ctx) }()
	t.Cleanup(func() {
		cancel()
		require.NoError(t, <-ended)
	})
	return d
}

// TestTheWebhookNeverSpeaksToTheDaemonItself uses a name that the configuration could not
// know to lead back, and a message that waits from before.
func TestTheWebhookNeverSpeaksToTheDaemonItself(t *testing.T) {
	o := options(t)
	store, err := history.Open(t.Context(), history.Options{Dir: o.Config.Data, Clock: o.Clock, Zone: time.UTC})
	require.NoError(t, err)
	_, err = store.Record(t.Context(), history.Entry{Kind: rules.AlarmChange, Room: "practice", Content: []byte(`{"subject":"air"}`)})
	require.NoError(t, err)
	require.NoError(t, store.Close())
	require.NoError(t, os.WriteFile(filepath.Join(o.Config.Data, "webhook"), []byte("0"), 0o600))
	o.Listener, err = net.Listen("tcp", "127.0.0.1:0")
	require.NoError(t, err)
	_, port, err := net.SplitHostPort(o.Listener.Addr().String())
	require.NoError(t, err)
	o.Config.Webhook = config.Webhook{URL: "http://localhost:" + port + "/healthz", Secret: []byte("an invented secret")}
	logged, seen := observer.New(zap.WarnLevel)
	o.Log = zap.New(logged)
	running(t, o)
	require.Eventually(t, func() bool { return seen.FilterMessageSnippet("the webhook does not take messages").Len() == 1 },
		20*time.Second, 20*time.Millisecond)
	require.Contains(t, seen.FilterMessageSnippet("the webhook does not take messages").All()[0].ContextMap()["error"],
		"is where wetside itself listens")
}

func TestAStartThatFailsSaysWhatToDoAndLeavesNothingOpen(t *testing.T) {
	t.Run("the address is in use", func(t *testing.T) {
		taken, err := net.Listen("tcp", "127.0.0.1:0")
		require.NoError(t, err)
		defer taken.Close()
		o := options(t)
		o.Config.Listen = taken.Addr().String()
		_, err = daemon.New(t.Context(), o)
		require.ErrorContains(t, err, "close the program that has this address, or choose another")
		store, err := history.Open(t.Context(), history.Options{Dir: o.Config.Data, Clock: o.Clock, Zone: time.UTC})
		require.NoError(t, err, "the history was closed again")
		require.NoError(t, store.Close())
	})
	t.Run("a second instance on the same folder", func(t *testing.T) {
		o := options(t)
		running(t, o)
		o.Registry = prometheus.NewPedanticRegistry()
		_, err := daemon.New(t.Context(), o)
		require.ErrorIs(t, err, history.ErrLocked)
	})
	t.Run("a damaged history", func(t *testing.T) {
		o := options(t)
		require.NoError(t, os.MkdirAll(o.Config.Data, 0o755))
		require.NoError(t, os.WriteFile(filepath.Join(o.Config.Data, "wetside.db"),
			[]byte("this is no database, but long enough to be read as one"), 0o644))
		_, err := daemon.New(t.Context(), o)
		require.ErrorIs(t, err, history.ErrCorrupt)
		require.ErrorContains(t, err, "restore the last backup")
	})
	t.Run("nothing to work with", func(t *testing.T) {
		_, err := daemon.New(t.Context(), daemon.Options{})
		require.ErrorContains(t, err, "needs a clock")
	})
}

func TestPortsThatAreNotThereKeepNobodyElseFromWorking(t *testing.T) {
	d := running(t, options(t))
	require.Eventually(t, func() bool {
		lines := d.Now().Rooms[0].Lines
		return lines[0].Status.State == sensors.StateGone && lines[1].Status.State == sensors.StateGone
	}, 5*time.Second, 10*time.Millisecond)
	require.Contains(t, d.Now().Rooms[0].Lines[0].Status.LastError.String(), "no such device")
	require.NoError(t, d.Health(), "a missing probe is no fault of the daemon")
}

func TestTheConfigurationIsReadAgainWhileItRuns(t *testing.T) {
	o := options(t)
	d := running(t, o)
	found(t, d, "darkroom", "fixer")

	changed := o.Config
	room := changed.Rooms[0]
	room.Name, room.Volume = "Darkroom after the move", 45
	changed.Rooms = []config.Room{room}
	require.NoError(t, d.Reload(t.Context(), changed))
	require.Equal(t, "Darkroom after the move", d.Now().Rooms[0].Name)
	require.NotNil(t, d.Now().Rooms[0].Baths[2].Portion, "what stands in the trays stays")

	changed.Rooms = nil
	require.ErrorContains(t, d.Reload(t.Context(), changed), "the old one stays in force")
	require.Equal(t, "Darkroom after the move", d.Now().Rooms[0].Name)
	require.NoError(t, d.Health())
}

func TestAnActIsRefusedWithASentenceOrRecordedForGood(t *testing.T) {
	d := running(t, options(t))
	drill := rules.RecordDrill{What: "fan off", Found: "all left"}
	for _, c := range []struct {
		name    string
		command rules.Command
		want    string
	}{
		{"no name", rules.Command{Room: "darkroom", Act: drill}, "the name is missing"},
		{"no such room", rules.Command{Room: "attic", Person: "P", Act: drill}, `there is no room "attic"`},
		{"no such bath", rules.Command{Room: "darkroom", Person: "P", Act: rules.AnnounceTime{Bath: "soup", Seconds: 60}},
			`this room has no bath "soup"`},
		{"an alarm that is not there", rules.Command{Room: "darkroom", Person: "P", Act: rules.AcknowledgeAlarm{Alarm: "air"}},
			"nothing to acknowledge"},
	} {
		t.Run(c.name, func(t *testing.T) {
			_, err := d.Do(t.Context(), c.command)
			require.ErrorContains(t, err, c.want)
		})
	}
	receipt, err := d.Do(t.Context(), rules.Command{Room: "darkroom", Person: "Ада 🙂", Act: drill})
	require.NoError(t, err)
	require.Positive(t, receipt.Number)
	require.Contains(t, receipt.Sentence.String(), "by Ада 🙂.")
}

func TestMetricsAreWellFormedAndASilentProbeHasNoValue(t *testing.T) {
	o := options(t)
	d := running(t, o)
	require.Eventually(t, func() bool { return d.Now().Rooms[0].Lines[0].Status.State == sensors.StateGone }, 5*time.Second,
		10*time.Millisecond)
	problems, err := testutil.GatherAndLint(o.Registry)
	require.NoError(t, err)
	require.Empty(t, problems)
	families, err := o.Registry.Gather()
	require.NoError(t, err)
	names := map[string]bool{}
	for _, f := range families {
		require.NotEmpty(t, f.GetHelp(), f.GetName())
		names[f.GetName()] = true
	}
	require.True(t, names["wetside_channel_up"], "alerting needs no absence")
	require.False(t, names["wetside_temperature_celsius"])
	require.False(t, names["wetside_channel_last_reading_timestamp_seconds"], "there never was one")
}
