package tcpport_test

import (
	"context"
	"fmt"
	"io"
	"log"
	"net"
	"slices"
	"testing"
	"time"

	"github.com/simonvetter/modbus"
	"github.com/stretchr/testify/require"
	"go.uber.org/goleak"

	"wetside/sensors"
	"wetside/sensors/dialect"
	"wetside/sensors/quantity"
	"wetside/sensors/tcpport"
)

func TestMain(m *testing.M) { goleak.VerifyTestMain(m) }

// device listens as a device on the network does.
func device(t *testing.T, serve func(net.Conn)) (path string) {
	t.Helper()
	l, err := net.Listen("tcp", "127.0.0.1:0")
	require.NoError(t, err)
	ended := make(chan struct{})
	go func() {
		defer close(ended)
		for {
			c, err := l.Accept()
			if err != nil {
				return
			}
			serve(c)
			_ = c.Close() // often closed from the other end already
		}
	}()
	t.Cleanup(func() {
		require.NoError(t, l.Close())
		<-ended
	})
	return tcpport.Scheme + l.Addr().String()
}

// watched runs a watch on register 7 of unit 3 and gives its updates.
func watched(t *testing.T, o tcpport.Opener, path string, d sensors.Decoder) <-chan sensors.Update {
	t.Helper()
	traits, _ := sensors.CarbonDioxide.Traits()
	ppm, err := quantity.ParseUnit("ppm")
	require.NoError(t, err)
	updates, ended := make(chan sensors.Update), make(chan error, 1)
	ctx, cancel := context.WithCancel(t.Context())
	w, err := sensors.NewWatch(sensors.WatchOptions{ID: "bench", Settings: sensors.LineSettings{Path: path}, Opener: o, Decoder: d,
		Channels: map[string]sensors.Channel{register().Address(): {ID: "room-co2", Kind: sensors.CarbonDioxide, Unit: ppm, Traits: traits}},
		Clock:    sensors.NewSystemClock(1), Silence: 500 * time.Millisecond,
		Deliver: func(ctx context.Context, u sensors.Update) error {
			u.Readings = slices.Clone(u.Readings)
			select {
			case updates <- u:
				return nil
			case <-ctx.Done():
				return ctx.Err()
			}
		}})
	require.NoError(t, err)
	go func() { ended <- w.Run(ctx) }()
	t.Cleanup(func() {
		cancel()
		require.NoError(t, <-ended)
	})
	return updates
}

func register() dialect.Register {
	return dialect.Register{Unit: 3, Table: dialect.Holding, Number: 7, Type: dialect.U16}
}

func options() dialect.ModbusOptions {
	return dialect.ModbusOptions{Registers: []dialect.Register{register()},
		Every: 100 * time.Millisecond, AnswerWithin: 200 * time.Millisecond, Baud: 115200}
}

// becomes waits for an update that is so.
func becomes(t *testing.T, updates <-chan sensors.Update, why string, so func(sensors.Update) bool) sensors.Update {
	t.Helper()
	limit := time.After(10 * time.Second)
	for {
		select {
		case u := <-updates:
			if so(u) {
				return u
			}
		case <-limit:
			require.Fail(t, "it did not become so in time", why)
		}
	}
}

func reads(value float64) func(sensors.Update) bool {
	return func(u sensors.Update) bool { return len(u.Readings) == 1 && u.Readings[0].Raw == value }
}

func is(s sensors.LineState) func(sensors.Update) bool {
	return func(u sensors.Update) bool { return u.Status.State == s }
}

// theirs is a unit of an independent implementation of Modbus TCP (github.com/simonvetter/modbus).
type theirs struct{ unit uint8 }

func (theirs) HandleCoils(*modbus.CoilsRequest) ([]bool, error) {
	return nil, modbus.ErrIllegalFunction
}
func (theirs) HandleDiscreteInputs(*modbus.DiscreteInputsRequest) ([]bool, error) {
	return nil, modbus.ErrIllegalFunction
}
func (theirs) HandleInputRegisters(*modbus.InputRegistersRequest) ([]uint16, error) {
	return nil, modbus.ErrIllegalFunction
}
func (h theirs) HandleHoldingRegisters(r *modbus.HoldingRegistersRequest) ([]uint16, error) {
	if r.UnitId != h.unit || r.Addr != 7 {
		return nil, modbus.ErrIllegalDataAddress
	}
	return []uint16{612}, nil
}

func TestReadsAnIndependentUnitOverModbusTCP(t *testing.T) {
	l, err := net.Listen("tcp", "127.0.0.1:0") // a port that is free
	require.NoError(t, err)
	address := l.Addr().String()
	require.NoError(t, l.Close())
	server, err := modbus.NewServer(&modbus.ServerConfiguration{URL: tcpport.Scheme + address, Timeout: time.Minute, MaxClients: 1,
		Logger: log.New(io.Discard, "", 0)}, theirs{3})
	require.NoError(t, err)
	require.NoError(t, server.Start())
	t.Cleanup(func() { require.NoError(t, server.Stop()) })
	m, err := dialect.NewModbusTCP(options())
	require.NoError(t, err)
	updates := watched(t, tcpport.Opener{}, tcpport.Scheme+address, m)
	u := becomes(t, updates, "a reading comes", reads(612))
	require.Equal(t, sensors.Good, u.Readings[0].Grade)
	require.Equal(t, sensors.StateLive, u.Status.State)
	becomes(t, updates, "and another", reads(612))
}

// serialBehind answers on a connection as a unit of a serial line does, CRC and all.
func serialBehind(c net.Conn, answers int) {
	request := make([]byte, 8)
	for range answers {
		if _, err := io.ReadFull(c, request); err != nil {
			return
		}
		answer := dialect.AnswerModbus(request, func(uint8, dialect.Table, uint16) (uint16, bool) { return 433, true })
		if _, err := c.Write(answer); err != nil {
			return
		}
	}
}

func TestALineThatIsCutIsOpenedAnew(t *testing.T) {
	path := device(t, func(c net.Conn) { serialBehind(c, 3) })
	m, err := dialect.NewModbus(options())
	require.NoError(t, err)
	updates := watched(t, tcpport.Opener{}, path, m)
	becomes(t, updates, "RTU frames come over TCP", reads(433))
	gone := becomes(t, updates, "the device ends the connection", is(sensors.StateGone))
	require.Contains(t, gone.Status.LastError.String(), "the device ended the connection")
	again := becomes(t, updates, "the line comes back", reads(433))
	require.Equal(t, uint64(2), again.Status.Opens)
}

// A device whose cable was pulled keeps its connection and says nothing.
func TestADeviceThatFallsSilentIsLeftAndTriedAnew(t *testing.T) {
	path := device(t, func(c net.Conn) {
		serialBehind(c, 2)
		_, _ = io.Copy(io.Discard, c) // until the other end has had enough
	})
	m, err := dialect.NewModbus(options())
	require.NoError(t, err)
	updates := watched(t, tcpport.Opener{AnswerWithin: time.Second}, path, m)
	becomes(t, updates, "the device answers at first", reads(433))
	becomes(t, updates, "the line is silent", is(sensors.StateSilent))
	gone := becomes(t, updates, "the connection is given up", is(sensors.StateGone))
	require.Contains(t, gone.Status.LastError.String(), "nothing came back for 1s")
	becomes(t, updates, "the device is tried again", reads(433))
}

func TestNobodyThereSaysWhatToLookAt(t *testing.T) {
	l, err := net.Listen("tcp", "127.0.0.1:0")
	require.NoError(t, err)
	path := tcpport.Scheme + l.Addr().String()
	require.NoError(t, l.Close())
	_, err = tcpport.Opener{}.Open(t.Context(), sensors.LineSettings{Path: path})
	require.ErrorContains(t, err, fmt.Sprintf("can't connect to %s: check its power, its cable and the address", path))
}

func TestAnAddressThatIsNoneIsRefused(t *testing.T) {
	for _, path := range []string{"", "tcp://", "tcp://host", "tcp://:502", "tcp://host:", "host:502", "tcp://host:502/x", "tcp://ho st:502"} {
		require.ErrorContains(t, tcpport.Check(path), "expected one like tcp://192.168.1.20:502", path)
	}
	for _, path := range []string{"tcp://192.168.1.20:502", "tcp://controller.example.org:502", "tcp://[2001:db8::1]:502"} {
		require.NoError(t, tcpport.Check(path))
	}
}

func TestClosingIsQuickAndNoLoss(t *testing.T) {
	path := device(t, func(c net.Conn) { _, _ = io.Copy(io.Discard, c) })
	line, err := tcpport.Opener{}.Open(t.Context(), sensors.LineSettings{Path: path})
	require.NoError(t, err)
	require.NoError(t, line.Write([]byte("x")))
	began := time.Now()
	require.NoError(t, line.Close())
	require.Less(t, time.Since(began), 500*time.Millisecond)
	require.NoError(t, line.Err())
	_, open := <-line.Chunks()
	require.False(t, open)
	require.NoError(t, line.Close(), "closing twice does no harm")
}
