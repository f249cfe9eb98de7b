package daemon_test

import (
	"context"
	"math"
	"os"
	"runtime"
	"strconv"
	"sync"
	"testing"
	"time"

	"github.com/prometheus/client_golang/prometheus"
	"github.com/stretchr/testify/require"
	"go.uber.org/zap"

	"wetside/daemon"
	"wetside/daemon/campaign"
	"wetside/daemon/config"
	"wetside/daemon/history"
	"wetside/sensors"
	"wetside/sensors/dialect"
	"wetside/sensors/serialport"
)

// threeWires is a room with a line of each dialect, whose gates let every value
// through, so that nothing but the dialects stands between a lie and the board.
const threeWires = `[[room]]
id = "room"
volume = "30 m3"
[[room.line]]
id = "text"
port = "text"
dialect = "text"
[[room.line.channel]]
id = "a"
quantity = "bath-temperature"
address = "A"
unit = "C"
jump = 1000
plausible = ["-200 C", "900 C"]
[[room.line.channel]]
id = "b"
quantity = "bath-temperature"
address = "B"
unit = "C"
jump = 1000
plausible = ["-200 C", "900 C"]
[[room.line]]
id = "xdr"
port = "xdr"
dialect = "xdr"
[[room.line.channel]]
id = "c"
quantity = "air-temperature"
address = "C"
unit = "C"
jump = 1000
plausible = ["-200 C", "900 C"]
[[room.line]]
id = "modbus"
port = "modbus"
dialect = "modbus"
baud = 115200
every = "1s"
[[room.line.channel]]
id = "d"
quantity = "carbon-dioxide"
modbus-unit = 1
table = "input"
register = 0
type = "f32"
unit = "ppm"
jump = 100000
plausible = ["-1000000 ppm", "1000000 ppm"]
[[room.line.channel]]
id = "e"
quantity = "room-pressure"
modbus-unit = 2
table = "input"
register = 0
type = "s16"
unit = "Pa"
jump = 100000
plausible = ["-1000000 Pa", "1000000 Pa"]
`

// truths is every value that a probe really measured, by channel.
type truths struct {
	mu   sync.Mutex
	said map[sensors.ChannelID]map[float64]bool
}

func (t *truths) add(id sensors.ChannelID, v float64) float64 {
	t.mu.Lock()
	defer t.mu.Unlock()
	if t.said[id] == nil {
		t.said[id] = map[float64]bool{}
	}
	t.said[id][v] = true
	return v
}

func (t *truths) holds(id sensors.ChannelID, v float64) bool {
	t.mu.Lock()
	defer t.mu.Unlock()
	return t.said[id][v]
}

// liar is one line of the campaign: a probe that tells the truth, and everything
// that happens to it on the way.
type liar struct {
	*cable
	*truths
	frame  func() []byte // the next true frame
	most   int           // how many bits may flip for the check to find it for certain
	before []byte        // the last true frame
}

// happen lets one thing happen on the line.
func (l *liar) happen() {
	fresh := l.frame()
	switch l.dice.IntN(12) {
	default:
		l.say(fresh)
	case 1:
		l.say(fresh[:l.dice.IntN(len(fresh))]) // half a line, and its rest never
	case 2:
		half := l.dice.IntN(len(fresh))
		l.say(fresh[:half])
		time.Sleep(l.pause())
		l.say(fresh[half:])
	case 3:
		l.say(l.spoil(fresh, l.most))
	case 4:
		l.say(l.noise())
	case 5:
		l.say(append(append([]byte(nil), fresh...), fresh...)) // repeated
	case 6:
		l.say(fresh) // and out of order
		l.say(l.before)
	case 7:
		l.say(l.mixed(fresh, l.frame()))
	case 8:
		l.say(atWrongSpeed(fresh))
	case 9:
		if l.dice.IntN(20) == 0 {
			l.move()
		}
	}
	l.before = fresh
	time.Sleep(l.pause())
}

func (l *liar) pause() time.Duration { return time.Duration(l.dice.IntN(4)) * time.Millisecond }

// number is a value that no accident gives, within the limits.
func (l *liar) number(id sensors.ChannelID) (float64, string) {
	text := strconv.FormatFloat(10+l.dice.Float64()*30, 'f', 9, 64)
	v, err := strconv.ParseFloat(text, 64)
	require.NoError(l, err)
	return l.add(id, v), text
}

func (l *liar) text() []byte {
	_, a := l.number("a")
	_, b := l.number("b")
	return []byte(dialect.EncodeText([]dialect.TextValue{{Name: "A", Value: a, Unit: "C"}, {Name: "B", Value: b, Unit: "C"}}))
}

func (l *liar) xdr() []byte {
	_, c := l.number("c")
	return []byte(dialect.EncodeXDR("WI", []dialect.XDRValue{{Type: "C", Value: c, Unit: "C", Name: "C"}}))
}

// answer is what the units say to what the master has asked, if it has asked anything.
func (l *liar) answer() []byte {
	asked := l.hear()
	if len(asked) > 8 {
		asked = asked[len(asked)-8:]
	}
	ppm := float32(l.add("d", math.Round(400e3+l.dice.Float64()*1e6)/1e3)) // seven digits, as many as it holds
	pascals := int16(l.add("e", float64(l.dice.IntN(30000)-15000)))
	bits := math.Float32bits(ppm)
	answer := dialect.AnswerModbus(asked, func(unit uint8, _ dialect.Table, number uint16) (uint16, bool) {
		if unit == 2 {
			return uint16(pascals), number == 0
		}
		return []uint16{uint16(bits >> 16), uint16(bits)}[min(number, 1)], number < 2
	})
	if answer == nil { // nobody asked: another master's business
		other := []byte{9, 4, 0, 0, 0, 1}
		sum := dialect.CRC16(other)
		return append(other, byte(sum), byte(sum>>8), 9, 4, 2, 0, 1)
	}
	return answer
}

func TestWhateverHappensOnTheWireNoWrongValueIsShownOrStored(t *testing.T) {
	events := campaign.Size(t, 900)
	runtime.GC()
	descriptors, heap := openDescriptors(t), heapInUse()
	truth := &truths{said: map[sensors.ChannelID]map[float64]bool{}}
	lines := map[string]*liar{}
	for i, name := range []string{"text", "xdr", "modbus"} {
		l := &liar{cable: newCable(t, uint64(i)), truths: truth, most: 1}
		l.frame = map[string]func() []byte{"text": l.text, "xdr": l.xdr, "modbus": l.answer}[name]
		l.before = l.frame()
		lines[name] = l
	}
	site, err := config.Parse("wires.toml", []byte(threeWires))
	require.NoError(t, err)
	site.Data, site.Listen = t.TempDir(), "127.0.0.1:0"
	for i := range site.Rooms[0].Lines {
		l := &site.Rooms[0].Lines[i]
		l.Settings.Path = lines[string(l.ID)].link
	}
	// A clock that runs fast, so that a line that was lost is tried again soon.
	d, err := daemon.New(t.Context(), daemon.Options{Config: site, Version: "test", Clock: sensors.NewSystemClock(20),
		Opener: serialport.New(),
		Log:    zap.NewNop(), Registry: prometheus.NewRegistry()})
	require.NoError(t, err)
	ctx, cancel := context.WithCancel(context.Background())
	ended := make(chan error, 1)
	go func() { ended <- d.Run(ctx) }()

	// Things go on happening until every channel was heard: on a slow computer the
	// fast clock may be over before a probe that waits to be asked has answered once.
	var happening sync.WaitGroup
	heard := make(chan struct{})
	for _, l := range lines {
		happening.Go(func() {
			for n := range 20 * events {
				select {
				case <-heard:
					if n >= events/len(lines) {
						return
					}
				default:
				}
				l.happen()
			}
		})
	}
	done := make(chan struct{})
	go func() { happening.Wait(); close(done) }()
	shown, early := watchBoard(t, d, truth, watched{heard, done})
	cancel()
	require.NoError(t, <-ended)
	require.NotZero(t, shown, "good values were shown as well")
	stored := requireStored(t, site.Data, truth)
	for _, l := range lines {
		require.NoError(t, l.peer.Close())
	}
	require.Equal(t, descriptors, openDescriptors(t))
	late := heapInUse()
	require.Less(t, late-max(heap, early), 8<<20, "memory does not grow with what happens")
	t.Logf("%d events: %d looks at good values and %d stored ones, all true; heap %d kB at first, %d kB at last", events, shown, stored,
		early>>10, late>>10)
}

// watched is closed by who watches once every channel was heard, and by the others
// once everything has happened.
type watched struct {
	heard chan<- struct{}
	done  <-chan struct{}
}

// watchBoard looks at the board again and again until everything has happened.
func watchBoard(t *testing.T, d *daemon.Daemon, truth *truths, w watched) (shown, early int) {
	seen := map[sensors.ChannelID]bool{}
	for {
		select {
		case <-w.done:
			return shown, early
		case <-time.After(time.Millisecond):
		}
		snap := d.Now().Rooms[0]
		for _, c := range snap.Channels {
			if _, good := c.Good(); !good {
				continue
			}
			shown++
			if seen[c.Channel.ID] = true; len(seen) == len(snap.Channels) && w.heard != nil {
				close(w.heard)
				w.heard = nil
			}
			require.True(t, truth.holds(c.Channel.ID, c.Raw), "%s shows %v, which no probe ever said", c.Channel.ID, c.Raw)
			require.LessOrEqual(t, c.Age, c.Channel.Silence, "%s is shown although it is old", c.Channel.ID)
		}
		if early == 0 && shown > 100 {
			early = heapInUse()
		}
	}
}

// requireStored holds that every good sample of the history is true.
func requireStored(t *testing.T, dir string, truth *truths) (stored int) {
	store, err := history.Open(t.Context(), history.Options{Dir: dir, Clock: sensors.NewSystemClock(1), Zone: time.UTC})
	require.NoError(t, err)
	defer func() { require.NoError(t, store.Close()) }()
	for _, id := range []sensors.ChannelID{"a", "b", "c", "d", "e"} {
		before := stored
		for s, err := range store.Samples(t.Context(), id, time.UnixMilli(0), time.Now().Add(1000*time.Hour)) {
			require.NoError(t, err)
			require.True(t, truth.holds(id, s.Raw), "%s: %v is stored, which no probe ever said", id, s.Raw)
			stored++
		}
		require.Greater(t, stored, before, "%s was heard at all", id)
	}
	return stored
}

func openDescriptors(t *testing.T) int {
	entries, err := os.ReadDir("/proc/self/fd")
	require.NoError(t, err)
	return len(entries)
}

func heapInUse() int {
	runtime.GC()
	var m runtime.MemStats
	runtime.ReadMemStats(&m)
	return int(m.HeapAlloc)
}
