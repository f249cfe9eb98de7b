package daemon_test

import (
	"context"
	"fmt"
	"strings"
	"testing"
	"time"

	"github.com/stretchr/testify/require"
	"golang.org/x/sys/unix"
)

// BenchmarkWorkOfAFrame is the processor time and the memory of one frame of 8 channels, in a room of
// 64 with a reader of its board, from the wire to the event of the stream; one frame after another, so
// that what else the computer does counts little. The test's own reader is part of it.
// Two cores that others used meanwhile, in turns: 680 us and 295 allocations before an alarm that nothing changes
// was left where it is, 640 us and 228 since. An embedded field for a tray's card is 100 more: templates search for it.
func BenchmarkWorkOfAFrame(b *testing.B) {
	r := startWired(b, wiredOptions{rooms: 1, lines: 8, channels: 8})
	ctx, cancel := context.WithCancel(context.Background())
	defer cancel()
	events := follow(b, ctx, r.daemon.URL()+"/rooms/room-0/events")
	b.ReportAllocs()
	before := worked(b)
	for b.Loop() {
		for want := fmt.Sprintf("%.1f", r.say()); !strings.Contains(<-events, want); {
		}
		time.Sleep(3 * time.Millisecond) // so that no frame waits for another to be drawn
	}
	b.ReportMetric(float64((worked(b)-before).Microseconds())/float64(b.N), "cpu-us/frame")
	b.ReportMetric(0, "ns/op")
}

// worked is the processor time that this program has taken so far.
func worked(b *testing.B) time.Duration {
	var u unix.Rusage
	require.NoError(b, unix.Getrusage(unix.RUSAGE_SELF, &u))
	return time.Duration(u.Utime.Nano() + u.Stime.Nano())
}
