package discover_test

import (
	"context"
	"sync"
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"wetside/sensors"
	"wetside/sensors/dialect"
	"wetside/sensors/discover"
)

// probe is a Modbus unit 1 with one input register, 30, on a line of its own settings.
type probe struct {
	settings sensors.LineSettings
	holds    uint16
	chunks   chan []byte

	mu    sync.Mutex
	asked int
}

func (p *probe) Open(_ context.Context, s sensors.LineSettings) (sensors.Line, error) {
	p.chunks = make(chan []byte, 100)
	return &talk{p, s == p.settings}, nil
}

type talk struct {
	*probe
	understood bool
}

func (t *talk) Chunks() <-chan []byte { return t.chunks }
func (*talk) Err() error              { return nil }
func (*talk) Close() error            { return nil }

func (t *talk) Write(request []byte) error {
	t.mu.Lock()
	defer t.mu.Unlock()
	t.asked++
	if request[0] != 1 || !t.understood {
		return nil // a unit keeps silent when it is not meant, and to noise
	}
	t.chunks <- dialect.AnswerModbus(request, func(_ uint8, table dialect.Table, number uint16) (uint16, bool) {
		return t.holds, table == dialect.Input && number == 30
	})
	return nil
}

func question() discover.Question {
	return discover.Question{Baud: 19200, Format: "8E1", Unit: "C", Register: dialect.Register{Unit: 1, Table: dialect.Input, Number: 30,
		Type: dialect.S16, Scale: 0.1}}
}

func put(t *testing.T, q discover.Question) (discover.Heard, *probe, error) {
	p := &probe{settings: sensors.LineSettings{Path: "/dev/a", Baud: 19200, DataBits: 8, Parity: 'E', StopBits: 1}, holds: 203}
	heard, err := discover.Ask(t.Context(), discover.Options{Opener: p, Clock: sensors.NewSystemClock(1), Path: "/dev/a",
		Each: 60 * time.Millisecond}, q)
	return heard, p, err
}

func TestAProbeThatWaitsToBeAskedAnswersItsRegister(t *testing.T) {
	heard, _, err := put(t, question())
	require.NoError(t, err)
	require.Equal(t, "modbus", heard.Dialect)
	require.Equal(t, "8E1", heard.Format)
	require.Len(t, heard.Channels, 1)
	require.InDelta(t, 20.3, heard.Channels[0].Last, 1e-9)
	require.Contains(t, heard.Channels[0].Kinds, sensors.BathTemperature)
	require.Equal(t, question().Register, *heard.Channels[0].Register)
}

func TestAQuestionThatIsNotAnsweredSaysWhatToLookAt(t *testing.T) {
	for name, c := range map[string]struct {
		change func(*discover.Question)
		says   string
	}{
		"another unit":          {func(q *discover.Question) { q.Register.Unit = 2 }, "its two wires are not exchanged"},
		"another speed":         {func(q *discover.Question) { q.Baud = 9600 }, "at 9600 baud, 8E1, from unit 1"},
		"a register it has not": {func(q *discover.Question) { q.Register.Number = 31 }, "count registers from 1"},
		"the other table":       {func(q *discover.Question) { q.Register.Table = dialect.Holding }, "the probe is there, but refuses"},
	} {
		q := question()
		c.change(&q)
		_, p, err := put(t, q)
		require.ErrorIs(t, err, discover.ErrNoAnswer, name)
		require.ErrorContains(t, err, c.says, name)
		require.NotZero(t, p.asked, name)
	}
}

func TestAQuestionThatMakesNoSenseIsNotSent(t *testing.T) {
	for name, change := range map[string]func(*discover.Question){
		"format": func(q *discover.Question) { q.Format = "9X9" },
		"unit":   func(q *discover.Question) { q.Unit = "furlong" },
		"type":   func(q *discover.Question) { q.Register.Type = "" },
	} {
		q := question()
		change(&q)
		_, p, err := put(t, q)
		require.Error(t, err, name)
		require.Zero(t, p.asked, name)
	}
}

func TestRegistersOfOneLineStandBesideEachOther(t *testing.T) {
	line := func(baud int, addresses ...string) discover.Heard {
		h := discover.Heard{Port: "/dev/a", Dialect: "modbus", Baud: baud, Format: "8N1"}
		for _, a := range addresses {
			h.Channels = append(h.Channels, discover.Channel{Address: a, Count: baud})
		}
		return h
	}
	require.Equal(t, line(9600, "1:input:0", "1:input:1"), line(9600, "1:input:1").Beside(line(9600, "1:input:0")))
	require.Equal(t, line(9600, "1:input:1", "1:input:0"), line(9600, "1:input:0").Beside(line(9600, "1:input:0", "1:input:1")), "asked again")
	require.Equal(t, line(19200, "1:input:1"), line(19200, "1:input:1").Beside(line(9600, "1:input:0")), "one line has one speed")
}
