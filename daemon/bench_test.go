package daemon_test

import (
	"bufio"
	"context"
	"fmt"
	"net/http"
	"path/filepath"
	"slices"
	"strings"
	"sync"
	"testing"
	"time"

	"github.com/prometheus/client_golang/prometheus"
	"github.com/stretchr/testify/require"
	"go.uber.org/zap"

	"wetside/daemon"
	"wetside/daemon/config"
	"wetside/sensors"
	"wetside/sensors/dialect"
)

// wires is an opener whose lines a benchmark feeds.
type wires struct {
	mu    sync.Mutex
	lines map[string]*wire
}

type wire struct {
	chunks chan []byte
	once   sync.Once
}

func (w *wires) Open(_ context.Context, s sensors.LineSettings) (sensors.Line, error) {
	w.mu.Lock()
	defer w.mu.Unlock()
	l := &wire{chunks: make(chan []byte, 16)}
	w.lines[s.Path] = l
	return l, nil
}

func (w *wires) line(path string) *wire {
	w.mu.Lock()
	defer w.mu.Unlock()
	return w.lines[path]
}

func (l *wire) Chunks() <-chan []byte { return l.chunks }
func (l *wire) Err() error            { return nil }
func (l *wire) Write([]byte) error    { return nil }
func (l *wire) Close() error          { l.once.Do(func() { close(l.chunks) }); return nil }

// large is a room of 8 lines with 8 bath channels each.
func large() string {
	var b strings.Builder
	b.WriteString("[[room]]\nid = \"large\"\nvolume = \"60 m3\"\n")
	for l := range 8 {
		fmt.Fprintf(&b, "[[room.line]]\nid = \"line-%d\"\nport = \"wire-%d\"\ndialect = \"text\"\n", l, l)
		for c := range 8 {
			fmt.Fprintf(&b, "[[room.line.channel]]\nid = \"tray-%d-%d\"\nquantity = \"bath-temperature\"\naddress = \"C%d\"\nunit = \"C\"\njump = 30\n", l, c, c)
		}
	}
	for l := range 8 {
		fmt.Fprintf(&b, "[[room.bath]]\nid = \"bath-%d\"\nrole = \"fixer\"\nchannel = \"tray-%d-0\"\n", l, l)
	}
	return b.String()
}

// sentence is one checked line with a value for each of 8 channels.
func sentence(value float64) []byte {
	values := make([]dialect.TextValue, 8)
	for c := range values {
		values[c] = dialect.TextValue{Name: fmt.Sprintf("C%d", c), Value: fmt.Sprintf("%.1f", value), Unit: "C"}
	}
	return []byte(dialect.EncodeText(values))
}

// startLarge runs a large room on wires.
func startLarge(b *testing.B) (*daemon.Daemon, *wires) {
	site, err := config.Parse("large.toml", []byte(large()))
	require.NoError(b, err)
	site.Data, site.Listen = filepath.Join(b.TempDir(), "data"), "127.0.0.1:0"
	w := &wires{lines: map[string]*wire{}}
	d, err := daemon.New(context.Background(), daemon.Options{Config: site, Version: "bench", Clock: sensors.NewSystemClock(1), Opener: w,
		Log: zap.NewNop(), Registry: prometheus.NewRegistry()})
	require.NoError(b, err)
	ctx, cancel := context.WithCancel(context.Background())
	ended := make(chan error, 1)
	go func() { ended <- d.Run(ctx) }()
	b.Cleanup(func() { cancel(); require.NoError(b, <-ended) })
	require.Eventually(b, func() bool {
		return w.line("wire-7") != nil && d.Now().Rooms[0].Lines[7].Status.State == sensors.StateWaiting
	}, 5*time.Second, time.Millisecond)
	for l := range 8 { // what comes first after an opening may have begun before it
		w.line(fmt.Sprintf("wire-%d", l)).chunks <- []byte("\r\n")
	}
	return d, w
}

// BenchmarkFrameToSnapshot is one frame of 8 channels from the wire to the
// published snapshot, committed on the way.
func BenchmarkFrameToSnapshot(b *testing.B) {
	d, w := startLarge(b)
	first := w.line("wire-0")
	for n := 0; b.Loop(); n++ {
		value := 18 + float64(n%40)/10
		first.chunks <- sentence(value)
		for {
			if v, ok := d.Now().Rooms[0].Baths[0].Temperature(); ok && float64(v) == value {
				break
			}
			time.Sleep(50 * time.Microsecond)
		}
	}
}

// BenchmarkFrameToPage is the time from a frame on the wire to its value in the
// stream of a live page, while 64 channels send at 10 Hz.
func BenchmarkFrameToPage(b *testing.B) {
	d, w := startLarge(b)
	ctx, cancel := context.WithCancel(context.Background())
	defer cancel()
	for l := 1; l < 8; l++ {
		go chatter(ctx, w.line(fmt.Sprintf("wire-%d", l)), time.Duration(l)*13*time.Millisecond)
	}
	events := follow(b, ctx, d.URL()+"/rooms/large/events")
	var took []time.Duration
	for n := 0; b.Loop(); n++ {
		value := 18 + float64(n%40)/10
		began := time.Now()
		w.line("wire-0").chunks <- sentence(value)
		for want := fmt.Sprintf("%.1f", value); !strings.Contains(<-events, want); {
		}
		took = append(took, time.Since(began))
		time.Sleep(100*time.Millisecond - time.Since(began)%(100*time.Millisecond))
	}
	slices.Sort(took)
	b.ReportMetric(float64(took[len(took)/2].Microseconds())/1000, "ms-median")
	b.ReportMetric(float64(took[len(took)*99/100].Microseconds())/1000, "ms-p99")
}

// chatter sends a frame every 100 ms.
func chatter(ctx context.Context, l *wire, after time.Duration) {
	time.Sleep(after)
	for n := 0; ctx.Err() == nil; n++ {
		select {
		case l.chunks <- sentence(30 + float64(n%40)/10):
		case <-ctx.Done():
		}
		time.Sleep(100 * time.Millisecond)
	}
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
