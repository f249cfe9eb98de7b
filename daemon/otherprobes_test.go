package daemon_test

import (
	"encoding/json"
	"io"
	"log"
	"log/slog"
	"net"
	"net/http"
	"os"
	"path/filepath"
	"strings"
	"sync/atomic"
	"testing"
	"time"

	mqtt "github.com/mochi-mqtt/server/v2"
	"github.com/mochi-mqtt/server/v2/hooks/auth"
	"github.com/mochi-mqtt/server/v2/listeners"
	"github.com/simonvetter/modbus"
	"github.com/stretchr/testify/require"

	"wetside/daemon"
	"wetside/daemon/config"
	"wetside/sensors/dialect"
)

// otherProbes is a place whose probes are on no serial port, each served by a program of
// somebody else or as its data sheet says.
type otherProbes struct {
	*testing.T
	controller *modbus.ModbusServer
	broker     *mqtt.Server
	gateway    atomic.Bool // whether the device before the serial line answers
	url        string
}

// flow answers as a building's controller that measures 254 m³/h.
type flow struct{ modbus.RequestHandler }

func (flow) HandleInputRegisters(*modbus.InputRegistersRequest) ([]uint16, error) {
	return []uint16{254}, nil
}

func free(t *testing.T) string {
	l, err := net.Listen("tcp", "127.0.0.1:0")
	require.NoError(t, err)
	require.NoError(t, l.Close())
	return l.Addr().String()
}

func (p *otherProbes) startController(address string) {
	var err error
	p.controller, err = modbus.NewServer(&modbus.ServerConfiguration{URL: "tcp://" + address, MaxClients: 2, Timeout: time.Minute,
		Logger: log.New(io.Discard, "", 0)}, flow{})
	require.NoError(p, err)
	require.NoError(p, p.controller.Start())
}

func (p *otherProbes) startBroker(address string) {
	p.broker = mqtt.New(&mqtt.Options{InlineClient: true, Logger: slog.New(slog.NewTextHandler(io.Discard, nil))})
	require.NoError(p, p.broker.AddHook(new(auth.AllowHook), nil))
	require.NoError(p, p.broker.AddListener(listeners.NewTCP(listeners.Config{ID: "tcp", Address: address})))
	require.NoError(p, p.broker.Serve())
}

// startGateway passes a serial Modbus line on, with a probe that measures 2.90 m/s.
func (p *otherProbes) startGateway(address string) {
	l, err := net.Listen("tcp", address)
	require.NoError(p, err)
	p.Cleanup(func() { require.NoError(p, l.Close()) })
	p.gateway.Store(true)
	go func() {
		for c, err := l.Accept(); err == nil; c, err = l.Accept() {
			request := make([]byte, 8)
			for _, err := io.ReadFull(c, request); err == nil; _, err = io.ReadFull(c, request) {
				if p.gateway.Load() {
					_, _ = c.Write(dialect.AnswerModbus(request, func(uint8, dialect.Table, uint16) (uint16, bool) { return 290, true }))
				}
			}
			_ = c.Close()
		}
	}()
}

// reads gives what /api/channels says of a channel.
func (p *otherProbes) reads(id string) (value *float64, quality string) {
	answer, err := http.Get(p.url + "/api/channels")
	require.NoError(p, err)
	defer answer.Body.Close()
	var list struct {
		Channels []struct {
			ID, Quality string
			Value       *float64
		}
	}
	require.NoError(p, json.NewDecoder(answer.Body).Decode(&list))
	for _, c := range list.Channels {
		if c.ID == id {
			return c.Value, c.Quality
		}
	}
	return nil, "no such channel"
}

func (p *otherProbes) good(id string, want float64) {
	p.Helper()
	require.Eventually(p, func() bool {
		value, quality := p.reads(id)
		return quality == "good" && value != nil && *value == want
	}, 15*time.Second, 50*time.Millisecond, id)
}

func (p *otherProbes) missing(id string) {
	p.Helper()
	require.Eventually(p, func() bool {
		value, quality := p.reads(id)
		return quality == "missing" && value == nil
	}, 15*time.Second, 50*time.Millisecond, id)
}

// TestProbesOnNoSerialPortAreReadLostAndFoundAgain runs the example of the configuration, with
// its addresses on this computer and every silence as short as may be.
func TestProbesOnNoSerialPortAreReadLostAndFoundAgain(t *testing.T) {
	p := &otherProbes{T: t}
	controller, gateway, broker := free(t), free(t), free(t)
	bus := filepath.Join(t.TempDir(), "devices")
	thermometer := filepath.Join(bus, "28-0316a2b4c5ff")
	plug := func() {
		require.NoError(t, os.MkdirAll(thermometer, 0o700))
		require.NoError(t, os.WriteFile(filepath.Join(thermometer, "w1_slave"),
			[]byte("72 01 4b 46 7f ff 0e 10 57 : crc=57 YES\n72 01 4b 46 7f ff 0e 10 57 t=23125\n"), 0o600))
	}
	plug()
	text, err := os.ReadFile("../configs/other-probes.toml")
	require.NoError(t, err)
	changed := strings.NewReplacer("192.168.1.20:502", controller, "192.168.1.21:4001", gateway,
		"mqtts://broker.example.org:8883", "mqtt://"+broker, "/sys/bus/w1/devices", bus, `"2s"`, `"200ms"`, `silence = "10m"`,
		`silence = "2s"`, `type = "f32"`, `type = "u16"`,
		`quantity = "`, "silence = \"2s\"\nquantity = \"").Replace(string(text))
	o := options(t)
	data := o.Config.Data
	o.Config, err = config.Parse("other-probes.toml", []byte(changed))
	require.NoError(t, err)
	o.Config.Data, o.Config.Listen = data, "127.0.0.1:0"

	p.startController(controller)
	p.startGateway(gateway)
	p.startBroker(broker)
	t.Cleanup(func() {
		require.NoError(t, p.controller.Stop())
		require.NoError(t, p.broker.Close())
	})
	p.url = running(t, o).URL()
	says := func() {
		require.NoError(t, p.broker.Publish("darkroom/air", []byte(`{"temperature":21.5,"co2":612}`), false, 0))
	}
	hears := func(want float64) {
		t.Helper()
		require.Eventually(t, func() bool {
			says()
			value, _ := p.reads("room-air")
			return value != nil && *value == want
		}, 20*time.Second, 100*time.Millisecond)
	}
	p.good("exhaust-flow", 254)
	p.good("duct-velocity", 2.9)
	p.good("developer-tray", 23.125)
	hears(21.5)
	p.missing("desk-co2") // no meter is plugged in here

	require.NoError(t, p.controller.Stop())
	p.gateway.Store(false)
	require.NoError(t, os.RemoveAll(thermometer))
	for _, id := range []string{"exhaust-flow", "duct-velocity", "developer-tray", "room-air"} {
		p.missing(id)
	}

	require.NoError(t, p.broker.Close())
	p.startController(controller)
	p.gateway.Store(true)
	plug()
	p.startBroker(broker)
	p.good("exhaust-flow", 254)
	p.good("duct-velocity", 2.9)
	p.good("developer-tray", 23.125)
	hears(21.5)
}

// TestTheSelfCheckTriesLinesThatAreNoSerialPorts finds one device that is there and one that is not.
func TestTheSelfCheckTriesLinesThatAreNoSerialPorts(t *testing.T) {
	p := &otherProbes{T: t}
	there, bus := free(t), t.TempDir()
	p.startGateway(there)
	text, err := os.ReadFile("../configs/other-probes.toml")
	require.NoError(t, err)
	file := filepath.Join(t.TempDir(), "site.toml")
	changed := strings.NewReplacer("192.168.1.20:502", free(t), "192.168.1.21:4001", there, "mqtts://broker.example.org:8883",
		"mqtt://"+free(t),
		"/sys/bus/w1/devices", bus).Replace(string(text))
	require.NoError(t, os.WriteFile(file, []byte(changed), 0o600))
	found := map[string]daemon.SelfCheck{}
	for _, c := range daemon.CheckSelf(t.Context(), daemon.SelfCheckOptions{File: file, Data: t.TempDir(), Version: "test", Now: time.Now()}) {
		found[c.What] = c
	}
	for line, good := range map[string]bool{"line controller": false, "line duct": true, "line trays": true, "line radio": false,
		"line meter": false} {
		require.Equal(t, good, found[line].Good, "%+v", found[line])
		require.Equal(t, good, found[line].Do == "", "%+v", found[line])
	}
	require.Equal(t, "tcp://"+there+", reached", found["line duct"].Detail)
	require.Contains(t, found["line controller"].Do, "check its power, its cable and the address")
}
