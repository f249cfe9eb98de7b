package agreement_test

import (
	"context"
	_ "embed"
	"fmt"
	"io"
	"net/http"
	"path/filepath"
	"strings"
	"testing"
	"testing/synctest"
	"time"

	"github.com/prometheus/client_golang/prometheus"
	"github.com/stretchr/testify/require"
	"go.uber.org/zap"

	"wetside/daemon"
	"wetside/daemon/config"
	"wetside/sensors/clocktest"
	"wetside/sensors/dialect"
)

//go:embed place.toml
var placeFile string

const (
	room = "dark"
	// pace is how often the probes speak.
	pace = 5 * time.Second
	// stride is how much time passes at once: the loop of a room turns in between two readings too.
	stride = 2500 * time.Millisecond
)

// opening is when every evening begins: a full hour, so that a past moment can be asked for to the minute.
func opening() time.Time { return time.Date(2026, 10, 14, 18, 0, 0, 0, time.UTC) }

// evening is a whole daemon on lines of a test, in a bubble of its own time.
type evening struct {
	*testing.T
	ctx     context.Context
	clock   *clocktest.Manual
	cabinet *cabinet
	bell    *doorbell
	client  *http.Client
	daemon  *daemon.Daemon
	dir     string
	place   string
	end     context.CancelFunc
	ended   chan error
	*inRoom // where the test is
	rooms   []*inRoom
	asked   int    // answers that were compared
	stepped []step // of the wall clock
}

// play runs a test within a bubble: time passes only when everything in the daemon waits.
func play(t *testing.T, act func(e *evening)) { playAt(t, placeFile, act) }

func playAt(t *testing.T, place string, act func(e *evening)) {
	dir := t.TempDir()
	synctest.Test(t, func(t *testing.T) {
		e := &evening{T: t, ctx: t.Context(), clock: clocktest.New(opening()), cabinet: newCabinet(), dir: dir, place: place,
			rooms: roomsOf(place)}
		e.goes(e.rooms[0])
		e.start()
		defer func() { e.stop() }()
		act(e)
	})
}

// start starts the daemon, at first or again on the same file.
func (e *evening) start() {
	site, err := config.Parse("place.toml", []byte(e.place))
	require.NoError(e, err)
	site.Data = filepath.Join(e.dir, "data")
	e.bell = newDoorbell()
	e.client = &http.Client{Transport: &http.Transport{DialContext: e.bell.call, DisableKeepAlives: true, DisableCompression: true}}
	e.daemon, err = daemon.New(e.ctx, daemon.Options{Config: site, Simulated: true, Version: "test", Clock: e.clock, Opener: e.cabinet,
		Log: zap.NewNop(), Registry: prometheus.NewPedanticRegistry(), Listener: e.bell})
	require.NoError(e, err)
	ctx, end := context.WithCancel(e.ctx)
	e.end, e.ended = end, make(chan error, 1)
	ended, d := e.ended, e.daemon
	go func() { ended <- d.Run(ctx) }()
	synctest.Wait()
}

// stop ends the daemon.
func (e *evening) stop() {
	e.end()
	require.NoError(e, <-e.ended)
	synctest.Wait()
}

// restart ends the daemon and starts it again after a while on the same file.
func (e *evening) restart(after time.Duration) {
	e.stop()
	e.clock.Advance(after)
	e.start()
}

// live lets the rooms live on, a stride at a time, while their probes speak.
func (e *evening) live(span time.Duration) {
	for end := e.clock.Now().Mono + span; e.clock.Now().Mono < end; {
		now := e.clock.Now().Mono
		e.clock.Advance(min(end, now.Truncate(stride)+stride) - now)
		synctest.Wait()
		if e.clock.Now().Mono%pace == 0 {
			e.everywhere(e.speak)
			synctest.Wait()
			e.everywhere(func() { e.flows.note(e) })
		}
		if e.clock.Now().Mono%time.Minute == 0 {
			e.everywhere(func() { e.worst.note(e) })
		}
	}
}

// speak lets every probe of the room say its value once.
func (e *evening) speak() {
	for line, frame := range e.probes.frames() {
		e.cabinet.send(e.wire(line), frame)
	}
}

// probes are what each probe shows, by its address, and the lines that say nothing.
type probes struct {
	value   map[string]float64
	still   map[string]bool // says the same again and again
	silent  map[string]bool // lines
	garbled map[string]bool // lines
	spoken  int
}

func newProbes() probes {
	return probes{value: map[string]float64{"DEV": 20, "FX1": 20, "FX2": 20, "AIR": 21, "HAC": 1, "VEL": 4.72, "PRE": 12, "FAN": 1},
		still: map[string]bool{"FAN": true}, silent: map[string]bool{}, garbled: map[string]bool{}}
}

// wiring lists what speaks on each line, in its order, with the unit that it sends.
func wiring() map[string][]dialect.TextValue {
	return map[string][]dialect.TextValue{
		"trays": {{Name: "DEV", Unit: "C"}, {Name: "FX1", Unit: "C"}, {Name: "FX2", Unit: "C"}},
		"air":   {{Name: "AIR", Unit: "C"}, {Name: "HAC", Unit: "ppm"}},
		"duct":  {{Name: "VEL", Unit: "m/s"}, {Name: "PRE", Unit: "Pa"}, {Name: "FAN"}},
	}
}

// frames are the next frame of each line. A live probe never shows quite the same twice.
func (p *probes) frames() map[string][]byte {
	p.spoken++
	frames := map[string][]byte{}
	for line, values := range wiring() {
		if p.silent[line] {
			continue
		}
		for i, v := range values {
			values[i].Value = p.shows(v.Name)
		}
		frame := dialect.EncodeText(values)
		if p.garbled[line] {
			frame = strings.Replace(frame, "=", "~", 1)
		}
		frames[line] = []byte(frame)
	}
	return frames
}

func (p *probes) shows(name string) string {
	value := p.value[name]
	if !p.still[name] {
		value += 0.01 * float64(p.spoken*(len(name)+int(name[0]))%5-2)
	}
	if name == "VEL" || name == "HAC" {
		value = max(value, 0) // their probes show nothing below zero
	}
	return fmt.Sprintf("%.2f", value)
}

// origin is the address of the pages.
const origin = "http://127.0.0.1:8420"

// get reads a page.
func (e *evening) get(path string) string {
	answer, err := e.client.Get(origin + path)
	require.NoError(e, err)
	defer answer.Body.Close()
	body, err := io.ReadAll(answer.Body)
	require.NoError(e, err)
	require.Equal(e, http.StatusOK, answer.StatusCode, "%s: %s", path, body)
	return string(body)
}
