package daemon_test

import (
	"context"
	"path/filepath"
	"runtime"
	"testing"
	"time"

	"github.com/prometheus/client_golang/prometheus"
	"github.com/stretchr/testify/require"
	"go.uber.org/zap"

	"wetside/daemon"
	"wetside/daemon/campaign"
	"wetside/daemon/config"
	"wetside/daemon/history"
	"wetside/sensors/clocktest"
)

// onceAMinute is a room that hears from its probes once a minute, so that weeks of
// it pass in the time that its arithmetic takes.
const onceAMinute = `[[room]]
id = "room-0"
volume = "30 m3"
[[room.line]]
id = "line"
port = "wire-0-0"
dialect = "text"
silence = "3m"
[[room.line.channel]]
id = "tray"
quantity = "bath-temperature"
address = "C0"
unit = "C"
silence = "3m"
[[room.bath]]
id = "bath"
role = "fixer"
channel = "tray"
`

// soaked is what a daemon uses at one moment.
type soaked struct{ heap, goroutines int }

func measure() soaked {
	runtime.GC()
	var m runtime.MemStats
	runtime.ReadMemStats(&m)
	return soaked{int(m.HeapAlloc), runtime.NumGoroutine()}
}

func TestWeeksPassInTheSameMemory(t *testing.T) {
	days := campaign.Size(t, 2)
	site, err := config.Parse("soak.toml", []byte(onceAMinute))
	require.NoError(t, err)
	site.Data, site.Listen = filepath.Join(t.TempDir(), "data"), "127.0.0.1:0"
	clock := clocktest.New(time.Date(2026, 9, 1, 8, 0, 0, 0, time.UTC))
	r := &wired{TB: t, wiredOptions: wiredOptions{rooms: 1, lines: 1, channels: 1}, wires: &wires{lines: map[string]*wire{}}}
	r.daemon, err = daemon.New(t.Context(), daemon.Options{Config: site, Version: "test", Clock: clock, Opener: r.wires, Log: zap.NewNop(),
		Registry: prometheus.NewRegistry()})
	require.NoError(t, err)
	ctx, cancel := context.WithCancel(context.Background())
	ended := make(chan error, 1)
	go func() { ended <- r.daemon.Run(ctx) }()
	require.Eventually(t, r.open, 10*time.Second, time.Millisecond)
	r.wires.line("wire-0-0").chunks <- []byte("\r\n")
	var early soaked
	minutes := days * 24 * 60
	for m := range minutes {
		clock.Advance(time.Minute)
		// What comes in the moment of the leap waited for a minute, and is rightly thrown away.
		require.True(t, r.shows(r.say(), time.Second) || r.shows(r.say(), 20*time.Second))
		if m == minutes/5 {
			early = measure()
		}
	}
	late := measure()
	for began := time.Now(); late.goroutines > early.goroutines+2 && time.Since(began) < 10*time.Second; late = measure() {
		time.Sleep(100 * time.Millisecond) // what is being sealed at this moment may finish; what leaks does not
	}
	cancel()
	require.NoError(t, <-ended)
	require.Less(t, late.heap-early.heap, 2<<20, "memory stays as it was")
	require.LessOrEqual(t, late.goroutines, early.goroutines+2, "and so do the goroutines")
	report, err := history.Verify(t.Context(), site.Data)
	require.NoError(t, err)
	require.NoError(t, report.Err())
	t.Logf("%d days: heap %d kB after a fifth of them, %d kB at the end; %d and %d goroutines", days, early.heap>>10, late.heap>>10,
		early.goroutines, late.goroutines)
}
