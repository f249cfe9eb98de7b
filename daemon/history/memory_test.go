package history_test

import (
	"runtime"
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"wetside/daemon/history"
	"wetside/sensors"
)

// gauge takes an export and looks at the memory in use now and then.
type gauge struct {
	written, looked, peak uint64
}

// Write counts what comes.
func (g *gauge) Write(p []byte) (int, error) {
	g.written += uint64(len(p))
	if g.written-g.looked > 256<<10 {
		g.looked = g.written
		var m runtime.MemStats
		runtime.GC()
		runtime.ReadMemStats(&m)
		g.peak = max(g.peak, m.HeapAlloc)
	}
	return len(p), nil
}

// TestAnExportNeedsNoMoreMemoryForALongerTime exports three hours, and a day.
func TestAnExportNeedsNoMoreMemoryForALongerTime(t *testing.T) {
	clock := newHandClock(evening())
	s := open(t, t.TempDir(), clock)
	fill(t, s, clock, 24*3600)
	clock.pass(time.Hour)
	s.Settle(t.Context())
	export := func(hours int) *gauge {
		g := &gauge{}
		to := evening().Add(time.Duration(hours) * time.Hour)
		require.NoError(t, s.ExportSamples(t.Context(), g, history.SampleExport{Channels: []sensors.ChannelID{"tray"}, From: evening(), To: to}))
		require.Greater(t, g.written, uint64(hours)*3600*70, "all of it was written")
		return g
	}
	short, long := export(3), export(24)
	t.Logf("peak for three hours %d bytes, for a day %d bytes", short.peak, long.peak)
	require.Less(t, long.peak, short.peak+256<<10)
}
