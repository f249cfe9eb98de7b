// Package northtest is a whole daemon on one invented room, for tests of forms: its probes say what a test
// has them say, its clock moves when a test moves it, and what is entered is in a real book. It is for tests alone.
package northtest

import (
	"context"
	"fmt"
	"net"
	"path/filepath"
	"strings"
	"sync"
	"testing"
	"time"

	"github.com/prometheus/client_golang/prometheus"
	"github.com/stretchr/testify/require"
	"go.uber.org/zap"

	"wetside/chem/ledger"
	"wetside/configs"
	"wetside/daemon"
	"wetside/daemon/config"
	"wetside/daemon/history"
	"wetside/dashboard/cards"
	"wetside/sensors"
	"wetside/sensors/clocktest"
	"wetside/sensors/dialect"
)

// site is a room with an invented time table, four baths and a duct on one line.
const site = `[site]
zone = "Europe/Vienna"
[[duty]]
id = "eyewash"
name = "Eyewash"
every = "7 days"
owner = "Technician"
why = "an invented rule"
[[room]]
id = "north"
name = "North darkroom"
volume = "32 m3"
floor = "12 m2"
[[room.required]]
kind = "air changes"
value = 8
source = "decision of the place"
[room.duct]
area = "314 cm2"
factor = 0.9
[room.breathing]
limits = ["OSHA"]
[[room.breathing.gas]]
channel = "north-acid"
[[room.line]]
id = "bench"
port = "bench"
dialect = "text"
channel = [
  {id = "north-developer", name = "Developer tray", quantity = "bath-temperature", address = "DEV", unit = "C", jump = 30},
  {id = "north-stop", name = "Stop bath tray", quantity = "bath-temperature", address = "STP", unit = "C", jump = 30},
  {id = "north-fixer", name = "Fixer tray", quantity = "bath-temperature", address = "FIX", unit = "C", jump = 30},
  {id = "north-duct", name = "Exhaust duct", quantity = "duct-velocity", address = "DUCT", unit = "m/s"},
  {id = "north-fan", name = "Fan switch", quantity = "fan-command", address = "FAN"},
  {id = "north-acid", name = "Gas probe", quantity = "acetic-acid", address = "ACID", unit = "ppm"},
]
[[room.bath]]
id = "developer"
name = "Developer"
role = "developer"
channel = "north-developer"
accuracy = 0.3
band = ["18 C", "22 C"]
hydroquinone = true
[room.bath.times]
source = "invented times for tests"
points = ["16C=2:50", "20C=2:00", "24C=1:25"]
[[room.bath]]
id = "stop"
name = "Stop bath"
role = "stop bath"
channel = "north-stop"
band = ["16 C", "24 C"]
[[room.bath]]
id = "fixer"
name = "Fixer"
role = "fixer"
channel = "north-fixer"
band = ["16 C", "24 C"]
[[room.bath]]
id = "wash"
name = "Wash"
role = "wash"
`

// North is a daemon that runs on the room North darkroom.
type North struct {
	Daemon *daemon.Daemon
	Clock  *clocktest.Manual
	// Data is the folder of its history.
	Data  string
	t     testing.TB
	line  *line
	says  Values
	heard uint64
}

// Values are what the probes of the room say: three trays in °C, the duct in m/s.
type Values struct{ Developer, Stop, Fixer, Duct float64 }

// Usual are the values of a room in which nothing is wrong.
func Usual() Values { return Values{19.4, 19.1, 18.8, 2.9} }

// Halting are those of a room whose fan is on and moves nothing.
func Halting() Values { return Values{19.4, 19.1, 18.8, 0.02} }

// Start starts the daemon, lets it end with the test, and lets a minute of usual values pass.
func Start(t testing.TB, changes ...func(*config.Config)) *North {
	t.Helper()
	c, err := config.Parse("north.toml", []byte(site))
	require.NoError(t, err)
	c.Data = filepath.Join(t.TempDir(), "data")
	for _, change := range changes {
		change(&c)
	}
	s := &North{t: t, Data: c.Data, Clock: clocktest.New(time.Date(2026, 1, 15, 19, 40, 0, 0, time.UTC)),
		line: &line{chunks: make(chan []byte, 1), opened: make(chan struct{})}}
	listener, err := net.Listen("tcp", "127.0.0.1:0")
	require.NoError(t, err)
	s.Daemon, err = daemon.New(t.Context(), daemon.Options{Config: c, Simulated: true, Version: "test", Clock: s.Clock, Opener: s.line,
		Log: zap.NewNop(), Registry: prometheus.NewPedanticRegistry(), Listener: listener})
	require.NoError(t, err)
	ctx, end := context.WithCancel(context.Background())
	ended := make(chan error, 1)
	go func() { ended <- s.Daemon.Run(ctx) }()
	t.Cleanup(func() {
		end()
		require.NoError(t, <-ended)
	})
	<-s.line.opened
	s.line.chunks <- []byte("\r\n") // what comes first after an opening may have begun before it
	s.Minutes(1, Usual())
	return s
}

// In is the same place within another test.
func (s *North) In(t testing.TB) *North {
	in := *s
	in.t = t
	return &in
}

// Host is where its pages are.
func (s *North) Host() string { return strings.TrimPrefix(s.Daemon.URL(), "http://") }

// Kept are the records of some kinds that are in its book, the oldest first.
func (s *North) Kept(kinds ...string) []history.Record {
	s.t.Helper()
	reader, err := history.OpenReader(s.t.Context(), history.Options{Dir: s.Data})
	require.NoError(s.t, err)
	defer reader.Close()
	records, err := reader.Records(s.t.Context(), history.Query{Kinds: kinds})
	require.NoError(s.t, err)
	return records
}

// Minutes lets time pass with every probe speaking every five seconds.
func (s *North) Minutes(n int, v Values) {
	s.t.Helper()
	s.says = v
	for range n * 12 {
		s.Passes(5 * time.Second)
	}
}

// Passes lets a time pass, at whose end the probes speak as before.
func (s *North) Passes(d time.Duration) {
	s.t.Helper()
	s.Clock.Advance(d)
	said := func(name string, value float64, unit string) dialect.TextValue {
		return dialect.TextValue{Name: name, Value: fmt.Sprint(value), Unit: unit}
	}
	v := s.says
	all := []dialect.TextValue{said("DEV", v.Developer, "C"), said("STP", v.Stop, "C"), said("FIX", v.Fixer, "C"),
		said("DUCT", v.Duct, "m/s"), said("FAN", 1, ""), said("ACID", 2.4, "ppm")}
	s.line.chunks <- []byte(dialect.EncodeText(all))
	s.heard += uint64(len(all))
	require.Eventually(s.t, func() bool { return s.Daemon.Now().Rooms[0].Lines[0].Status.Readings >= s.heard }, 20*time.Second,
		time.Millisecond)
}

// Does enters acts as Ada did them, one after another.
func (s *North) Does(acts ...ledger.Act) {
	s.t.Helper()
	for _, a := range acts {
		s.Passes(5 * time.Second)
		_, err := s.Daemon.Shelf().Enter(s.t.Context(), cards.ShelfEntry{Room: "north", Person: "Ada", Act: a})
		require.NoError(s.t, err, a.Kind())
	}
	s.Passes(5 * time.Second)
}

// Stock enters an opened bottle of each concentrate and a drum for silver.
func (s *North) Stock() {
	s.t.Helper()
	drum := ledger.ContainerNamed{Container: "drum", Vessel: ledger.WasteContainer, Capacity: 20000, Stream: ledger.SilverStream}
	stock := []ledger.Act{drum}
	catalogue, err := ledger.ParseCatalogue(configs.Catalogue)
	require.NoError(s.t, err)
	for _, c := range []struct{ product, bottle string }{{"print-developer", "PD bottle"}, {"stop-bath", "SB bottle"},
		{"rapid-fixer", "FX bottle"}} {
		p, ok := catalogue.Product(c.product)
		require.True(s.t, ok)
		stock = append(stock, ledger.LotReceived{Lot: c.bottle + " lot", Product: c.product, Class: p.Class, Units: 2, UnitVolume: 1000,
			Owner: ledger.House}, ledger.LotOpened{Lot: c.bottle + " lot", Container: c.bottle})
	}
	s.Does(stock...)
}

// line is the one line of the room, on which the test speaks.
type line struct {
	chunks chan []byte
	opened chan struct{}
	once   sync.Once
}

// Open gives the line itself.
func (l *line) Open(context.Context, sensors.LineSettings) (sensors.Line, error) {
	l.once.Do(func() { close(l.opened) })
	return l, nil
}

func (l *line) Chunks() <-chan []byte { return l.chunks }
func (*line) Err() error              { return nil }
func (*line) Write([]byte) error      { return nil }
func (*line) Close() error            { return nil }
