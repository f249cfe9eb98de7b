package daemon_test

import (
	"bufio"
	"context"
	"fmt"
	"io"
	"net/http"
	"slices"
	"strings"
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"wetside/chem/ledger"
	"wetside/daemon"
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

// BenchmarkEntryOfTheShelf is one entry of the book of chemistry, from its check to its record
// to the boards of the rooms, after the thousand entries of a few evenings.
func BenchmarkEntryOfTheShelf(b *testing.B) {
	r := startWired(b, wiredOptions{rooms: 2, lines: 2, channels: 4})
	enter := func(a ledger.Act) {
		_, err := r.daemon.Enter(b.Context(), daemon.ShelfEntry{Room: "room-0", Person: "Ada", Act: a})
		require.NoError(b, err)
	}
	for n := range 250 {
		id := fmt.Sprintf("FX-%d", n)
		enter(ledger.ContainerNamed{Container: id, Vessel: ledger.Tray, Capacity: 3000})
		enter(ledger.BatchMixed{Batch: id, Name: "Fixer", Class: ledger.Fixer, Into: id, Meant: ledger.FromUnknown, Water: 1000,
			Owner: ledger.House})
		enter(ledger.SheetsUsed{Containers: []string{id}, Material: ledger.ResinCoated, Count: 3, SheetArea: ledger.EightByTen})
		enter(ledger.Discarded{Container: id, Volume: 100, Route: "collected (invented)", Reason: "invented"})
	}
	for b.Loop() {
		enter(ledger.SheetsUsed{Containers: []string{"FX-7"}, Material: ledger.ResinCoated, Count: 1, SheetArea: ledger.EightByTen})
	}
}

// BenchmarkFormOfTheShelf is the page with the form for sheets that went through the baths.
func BenchmarkFormOfTheShelf(b *testing.B) {
	r := startWired(b, wiredOptions{rooms: 2, lines: 2, channels: 4})
	for b.Loop() {
		answer, err := http.Get(r.daemon.URL() + "/shelf/enter/sheets-used?room=room-0")
		require.NoError(b, err)
		_, err = io.Copy(io.Discard, answer.Body)
		require.NoError(b, err)
		require.NoError(b, answer.Body.Close())
		require.Equal(b, http.StatusOK, answer.StatusCode)
	}
}
