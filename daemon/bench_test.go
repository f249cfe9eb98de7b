package daemon_test

import (
	"bufio"
	"context"
	"fmt"
	"net/http"
	"slices"
	"strings"
	"testing"
	"time"

	"github.com/stretchr/testify/require"
)

// BenchmarkFrameToSnapshot is one frame of 8 channels from the wire to the
// published snapshot, committed on the way.
// Two cores at rest: 0.28 ms with 64 channels.
func BenchmarkFrameToSnapshot(b *testing.B) {
	r := startWired(b, wiredOptions{rooms: 1, lines: 8, channels: 8})
	for b.Loop() {
		r.late()
	}
}

// BenchmarkFrameToPage is the time from a frame on the wire to its value in the
// stream of a live page, while 64 channels send at 10 Hz.
// Two cores at rest, 64 channels at 10 Hz, five runs: median 0.9 to 1.3 ms, 99th percentile
// 7.0 to 8.2 ms, once 13.
func BenchmarkFrameToPage(b *testing.B) {
	r := startWired(b, wiredOptions{rooms: 1, lines: 8, channels: 8})
	ctx, cancel := context.WithCancel(context.Background())
	defer cancel()
	r.talk(100 * time.Millisecond)
	events := follow(b, ctx, r.daemon.URL()+"/rooms/room-0/events")
	var took []time.Duration
	for b.Loop() {
		began := time.Now()
		for want := fmt.Sprintf("%.1f", r.say()); !strings.Contains(<-events, want); {
		}
		took = append(took, time.Since(began))
		time.Sleep(100*time.Millisecond - time.Since(began)%(100*time.Millisecond))
	}
	slices.Sort(took)
	b.ReportMetric(float64(took[len(took)/2].Microseconds())/1000, "ms-median")
	b.ReportMetric(float64(took[len(took)*99/100].Microseconds())/1000, "ms-p99")
}

// follow gives the parts of a page's stream that show the first bath.
func follow(b *testing.B, ctx context.Context, url string) <-chan string {
	request, err := http.NewRequestWithContext(ctx, http.MethodGet, url, nil)
	require.NoError(b, err)
	answer, err := http.DefaultClient.Do(request)
	require.NoError(b, err)
	b.Cleanup(func() { answer.Body.Close() })
	events := make(chan string, 256)
	go func() {
		lines := bufio.NewScanner(answer.Body)
		lines.Buffer(nil, 1<<20)
		for lines.Scan() {
			if text := lines.Text(); strings.HasPrefix(text, "data: ") {
				events <- text
			}
		}
	}()
	return events
}
