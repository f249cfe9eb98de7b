package viewtest

import (
	"context"
	"sync"

	"wetside/sensors"
	"wetside/sensors/discover"
)

// FirstRun is an invented computer with one port, on which trays speak. It keeps no configuration.
type FirstRun struct {
	mu    sync.Mutex
	heard []discover.Heard
}

// Ports gives one invented port.
func (*FirstRun) Ports() []string { return []string{"/dev/serial/by-id/usb-trays"} }

// File is an invented one.
func (*FirstRun) File() string { return "/etc/wetside/site.toml" }

// Listen hears two channels.
func (f *FirstRun) Listen(_ context.Context, port string) (discover.Heard, error) {
	return f.hear(discover.Heard{Port: port, Dialect: "text", Sample: "DEV=20.3C FAN=1;0A1B", Baud: 9600, Channels: []discover.Channel{
		{Address: "DEV", Unit: "C", Last: 20.3, Kinds: []sensors.Kind{sensors.BathTemperature, sensors.AirTemperature}},
		{Address: "FAN", Last: 1, Kinds: []sensors.Kind{sensors.FanCommand}},
	}})
}

// Ask hears the air in the duct.
func (f *FirstRun) Ask(_ context.Context, port string, q discover.Question) (discover.Heard, error) {
	return f.hear(discover.Heard{Port: port, Dialect: "modbus", Sample: "unit 1: 3.1", Baud: q.Baud, Channels: []discover.Channel{
		{Address: q.Register.Address(), Unit: q.Unit, Last: 3.1, Kinds: []sensors.Kind{sensors.DuctVelocity}},
	}})
}

func (f *FirstRun) hear(line discover.Heard) (discover.Heard, error) {
	f.mu.Lock()
	defer f.mu.Unlock()
	f.heard = []discover.Heard{line}
	return line, nil
}

// Heard is what was listened to.
func (f *FirstRun) Heard() []discover.Heard {
	f.mu.Lock()
	defer f.mu.Unlock()
	return f.heard
}

// Write takes a configuration, and keeps none.
func (*FirstRun) Write(context.Context, discover.Draft) error { return nil }

// Written says that there is no configuration.
func (*FirstRun) Written() bool { return false }
