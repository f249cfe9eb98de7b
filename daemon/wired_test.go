package daemon_test

import (
	"context"
	"fmt"
	"path/filepath"
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

// wires is an opener whose lines a test feeds.
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

// wiredOptions say how many rooms there are, and how much in each.
type wiredOptions struct {
	rooms, lines, channels int
	// dir is the data folder; a new one when empty.
	dir string
}

// site is the configuration of such rooms: bath channels, and a bath a line at its first.
func (o wiredOptions) site() string {
	var b strings.Builder
	for r := range o.rooms {
		fmt.Fprintf(&b, "[[room]]\nid = \"room-%d\"\nvolume = \"60 m3\"\n", r)
		for l := range o.lines {
			fmt.Fprintf(&b, "[[room.line]]\nid = \"line-%d-%d\"\nport = \"%s\"\ndialect = \"text\"\n", r, l, wireOf(r, l))
			for c := range o.channels {
				fmt.Fprintf(&b, "[[room.line.channel]]\nid = \"tray-%d-%d-%d\"\nquantity = \"bath-temperature\"\naddress = \"C%d\"\nunit = "+
					"\"C\"\njump = 30\n", r, l, c, c)
			}
		}
		for l := range o.lines {
			fmt.Fprintf(&b, "[[room.bath]]\nid = \"bath-%d-%d\"\nrole = \"fixer\"\nchannel = \"tray-%d-%d-0\"\n", r, l, r, l)
		}
	}
	return b.String()
}

func wireOf(room, line int) string { return fmt.Sprintf("wire-%d-%d", room, line) }

// wired is a daemon on such wires. The first line of the first room is the test's
// own; the others can be made to talk.
type wired struct {
	testing.TB
	wiredOptions
	ctx    context.Context
	daemon *daemon.Daemon
	wires  *wires
	end    func()
	ended  chan error
	talk   func(every time.Duration)
	number int
}

func startWired(t testing.TB, o wiredOptions) *wired {
	site, err := config.Parse("wired.toml", []byte(o.site()))
	require.NoError(t, err)
	site.Data, site.Listen = o.dir, "127.0.0.1:0"
	if o.dir == "" {
		site.Data = filepath.Join(t.TempDir(), "data")
	}
	r := &wired{TB: t, wiredOptions: o, wires: &wires{lines: map[string]*wire{}}, ended: make(chan error, 1)}
	r.daemon, err = daemon.New(context.Background(), daemon.Options{Config: site, Version: "test", Clock: sensors.NewSystemClock(1),
		Opener: r.wires,
		Log:    zap.NewNop(), Registry: prometheus.NewRegistry()})
	require.NoError(t, err)
	ctx, cancel := context.WithCancel(context.Background())
	talking, silence := context.WithCancel(ctx)
	r.ctx = talking
	var talkers sync.WaitGroup
	r.talk = func(every time.Duration) { r.startTalking(&talkers, every) }
	r.end = sync.OnceFunc(func() {
		silence()
		talkers.Wait() // nobody may speak on a line that is being closed
		cancel()
		require.NoError(t, <-r.ended)
	})
	go func() { r.ended <- r.daemon.Run(ctx) }()
	t.Cleanup(r.end)
	require.Eventually(t, r.open, 10*time.Second, time.Millisecond)
	for room := range o.rooms { // what comes first after an opening may have begun before it
		for line := range o.lines {
			r.wires.line(wireOf(room, line)).chunks <- []byte("\r\n")
		}
	}
	return r
}

func (r *wired) stop() { r.end() }

// open says whether every line has been opened.
func (r *wired) open() bool {
	for _, room := range r.daemon.Now().Rooms {
		for _, l := range room.Lines {
			if l.Status.Opens == 0 {
				return false
			}
		}
	}
	return true
}

// startTalking lets every line but the first speak, one after another within the interval.
func (r *wired) startTalking(talkers *sync.WaitGroup, every time.Duration) {
	all := r.rooms * r.lines
	for n := 1; n < all; n++ {
		l := r.wires.line(wireOf(n/r.lines, n%r.lines))
		talkers.Go(func() {
			first := time.Duration(n) * every / time.Duration(all)
			next := time.Now().Add(first)
			for i := 0; ; i++ {
				select {
				case <-r.ctx.Done():
					return
				case <-time.After(time.Until(next)):
				}
				next = next.Add(every)
				select {
				case l.chunks <- sentence(r.channels, 30+float64(i%40)/10):
				case <-r.ctx.Done():
					return
				}
			}
		})
	}
}

// sentence is one checked line with a value for each of so many channels.
func sentence(channels int, value float64) []byte {
	values := make([]dialect.TextValue, channels)
	for c := range values {
		values[c] = dialect.TextValue{Name: fmt.Sprintf("C%d", c), Value: fmt.Sprintf("%.1f", value), Unit: "C"}
	}
	return []byte(dialect.EncodeText(values))
}

// say sends the next value over the test's own line and gives it.
func (r *wired) say() float64 {
	r.number++
	value := float64(180+r.number%40) / 10
	r.wires.line(wireOf(0, 0)).chunks <- sentence(r.channels, value)
	return value
}

// shows says whether a value is shown within a time.
func (r *wired) shows(want float64, within time.Duration) bool {
	for began := time.Now(); time.Since(began) < within; time.Sleep(50 * time.Microsecond) {
		if v, ok := r.daemon.Now().Rooms[0].Baths[0].Temperature(); ok && float64(v) == want {
			return true
		}
	}
	return false
}

// late is how long a frame takes from the wire to the snapshot that everyone sees.
func (r *wired) late() time.Duration {
	began := time.Now()
	require.True(r, r.shows(r.say(), 20*time.Second), "a frame was never shown")
	return time.Since(began)
}
