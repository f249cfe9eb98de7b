package simroom_test

import (
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"wetside/sensors"
	"wetside/sensors/clocktest"
	"wetside/sensors/dialect"
	"wetside/sensors/simroom"
)

// evening drives a room on pipes, a second at a time, and listens to its lines
// with the decoders that the daemon uses.
type evening struct {
	t     *testing.T
	clock *clocktest.Manual
	room  *simroom.Room
	ears  map[string]*ear
}

// ear is somebody who listens to a line and opens it again whenever it goes.
type ear struct {
	decoder sensors.Decoder
	line    sensors.Line // nil: gone
	// heard in the last second: values by address, frames by result.
	values map[string]float64
	frames map[sensors.FrameResult]int
	bytes  int
	opened int
}

func at18() time.Time { return time.Date(2026, 1, 15, 18, 0, 0, 0, time.UTC) }

func newEvening(t *testing.T, schedule string) *evening {
	events, err := simroom.ParseSchedule(schedule)
	require.NoError(t, err)
	return withEvents(t, events)
}

func withEvents(t *testing.T, events []simroom.Event) *evening {
	var err error
	e := &evening{t: t, clock: clocktest.New(at18())}
	e.room, err = simroom.Start(t.Context(), simroom.Options{Clock: e.clock, Seed: 1, Pipes: true, Events: events})
	require.NoError(t, err)
	t.Cleanup(e.room.Stop)
	var registers []dialect.Register
	for _, r := range simroom.Registers() {
		registers = append(registers, r)
	}
	master, err := dialect.NewModbus(dialect.ModbusOptions{Registers: registers})
	require.NoError(t, err)
	e.ears = map[string]*ear{
		"trays": {decoder: dialect.NewText()},
		"air":   {decoder: dialect.NewXDR()},
		"duct":  {decoder: master},
	}
	for _, ear := range e.ears {
		ear.forget()
	}
	e.listen() // opens the lines
	return e
}

// pass lets some time pass, a second at a time.
func (e *evening) pass(d time.Duration) {
	e.t.Helper()
	for range int(d / time.Second) {
		for _, ear := range e.ears {
			ear.forget()
		}
		e.clock.Advance(600 * time.Millisecond)
		e.askAndHear() // so that a request fails at about the time at which it would
		e.clock.Advance(time.Second - e.clock.Now().Mono%time.Second)
		e.settle()
		e.listen()
	}
}

// jump lets time pass in minutes, in which the room speaks once each.
func (e *evening) jump(d time.Duration) {
	e.t.Helper()
	for range int(d / time.Minute) {
		e.clock.Advance(time.Minute)
		e.settle()
	}
	e.pass(5 * time.Second) // what waits in the queues is old by now
}

// settle waits until the room has done all that it has to do by now.
func (e *evening) settle() {
	e.t.Helper()
	require.NoError(e.t, e.room.Await(e.t.Context(), e.clock.Now().Mono))
}

func (e *evening) do(trouble string) {
	e.t.Helper()
	parsed, err := simroom.ParseTrouble(trouble)
	require.NoError(e.t, err)
	require.NoError(e.t, e.room.Do(parsed))
}

// value is what an address of a line said in the last second; it must have.
func (e *evening) value(line, address string) float64 {
	e.t.Helper()
	require.Contains(e.t, e.ears[line].values, address)
	return e.ears[line].values[address]
}

func (e *evening) register(name string) float64 {
	e.t.Helper()
	return e.value("duct", simroom.Registers()[name].Address())
}

func (e *evening) listen() {
	for name, ear := range e.ears {
		if ear.line == nil {
			ear.open(e, name)
		}
		ear.drain(e.clock.Now())
	}
	// Modbus asks one thing after the other, with a pause between.
	for range 6 {
		e.askAndHear()
		e.clock.Advance(10 * time.Millisecond)
	}
}

func (e *evening) askAndHear() {
	e.ears["duct"].ask(e.clock.Now())
	e.settle()
	e.ears["duct"].drain(e.clock.Now())
}

func (a *ear) forget() {
	a.values, a.frames, a.bytes = map[string]float64{}, map[sensors.FrameResult]int{}, 0
}

func (a *ear) open(e *evening, name string) {
	line, err := e.room.Opener().Open(e.t.Context(), sensors.LineSettings{Path: e.room.Path(name)})
	if err != nil {
		require.ErrorIs(e.t, err, sensors.ErrAbsent)
		return
	}
	a.line, a.opened = line, a.opened+1
	a.decoder.Reset()
}

// ask sends what the decoder wants to send.
func (a *ear) ask(now sensors.Instant) {
	send, failed, _ := a.decoder.Poll(now)
	a.take(failed)
	if len(send) > 0 && a.line != nil {
		_ = a.line.Write(send) // a line that has gone is seen by its chunks
	}
}

func (a *ear) drain(now sensors.Instant) {
	for a.line != nil {
		select {
		case chunk, open := <-a.line.Chunks():
			if !open {
				a.line = nil
				return
			}
			a.bytes += len(chunk)
			a.take(a.decoder.Feed(now, chunk))
		default:
			return
		}
	}
}

func (a *ear) take(frames []sensors.Frame) {
	for _, f := range frames {
		a.frames[f.Result]++
		for _, m := range f.Measurements {
			a.values[m.Address] = m.Value
		}
	}
}
