package viewtest

import (
	"context"
	"fmt"
	"sync"

	"wetside/dashboard/keep"
	"wetside/sensors"
)

// FirstRun is an invented computer with one port, on which trays speak.
type FirstRun struct {
	mu      sync.Mutex
	heard   []keep.HeardLine
	written []keep.FirstConfiguration
	Err     error
}

// Ports has one.
func (*FirstRun) Ports() []string { return []string{"/dev/serial/by-id/usb-trays"} }

// File is an invented one.
func (*FirstRun) File() string { return "/etc/wetside/site.toml" }

// Listen hears two channels.
func (f *FirstRun) Listen(_ context.Context, port string) (keep.HeardLine, error) {
	f.mu.Lock()
	defer f.mu.Unlock()
	line := keep.HeardLine{Port: port, Dialect: "text", Sample: "DEV=20.3C FAN=1;0A1B", Baud: 9600, Channels: []keep.HeardChannel{
		{Address: "DEV", Unit: "C", Last: 20.3, Kinds: []sensors.Kind{sensors.BathTemperature, sensors.AirTemperature}},
		{Address: "FAN", Last: 1, Kinds: []sensors.Kind{sensors.FanCommand}},
	}}
	f.heard = []keep.HeardLine{line}
	return line, f.Err
}

// Ask hears the air in the duct.
func (f *FirstRun) Ask(_ context.Context, q keep.FirstQuestion) (keep.HeardLine, error) {
	f.mu.Lock()
	defer f.mu.Unlock()
	line := keep.HeardLine{Port: q.Port, Dialect: "modbus", Sample: "unit 1: 3.1", Baud: q.Baud, Channels: []keep.HeardChannel{
		{Address: fmt.Sprintf("%d:%s:%d", q.ModbusUnit, q.Table, q.Register), Unit: q.Unit, Last: 3.1,
			Kinds: []sensors.Kind{sensors.DuctVelocity}},
	}}
	f.heard = []keep.HeardLine{line}
	return line, f.Err
}

// Heard is what was listened to.
func (f *FirstRun) Heard() []keep.HeardLine {
	f.mu.Lock()
	defer f.mu.Unlock()
	return f.heard
}

// Write notes the configuration.
func (f *FirstRun) Write(_ context.Context, c keep.FirstConfiguration) error {
	f.mu.Lock()
	defer f.mu.Unlock()
	if f.Err == nil {
		f.written = append(f.written, c)
	}
	return f.Err
}

// Written says whether one was.
func (f *FirstRun) Written() bool { return len(f.Configurations()) > 0 }

// Configurations are those that were written.
func (f *FirstRun) Configurations() []keep.FirstConfiguration {
	f.mu.Lock()
	defer f.mu.Unlock()
	return f.written
}
