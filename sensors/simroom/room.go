// Package simroom is a pretend darkroom for demonstrations and tests. Its state
// is physics: trays cool, the air mixes, a fan draws. It answers in the probes'
// own bytes, over pseudo-terminals where the computer has them and in-memory
// pipes elsewhere, so that everything behind a serial line is the real thing.
//
// Three lines leave the room, each once a second or on request:
//
//   - trays: the text dialect; DEV, STP, FX1, FX2 and WSH in °C;
//   - air: XDR sentences; AIR in °C, HUM in per cent, ROOM in Pa;
//   - duct: Modbus RTU; the registers are those of [Registers].
//
// Faults and the acts of an evening are [Trouble]s. All of its data is invented.
package simroom

import (
	"context"
	"errors"
	"math/rand/v2"
	"path/filepath"
	"slices"
	"sync"
	"time"

	"wetside/sensors"
)

// ErrStopped is what a line of a simulated room gives once the room has been stopped.
var ErrStopped = errors.New("the simulated room has been stopped")

// Options say how a room is set up.
type Options struct {
	// Clock is the room's time; durations of troubles are of it.
	Clock sensors.Clock
	// Dir is where the names of the lines are made, in a folder by-id. It is made
	// if need be. In-memory pipes leave it alone.
	Dir string
	// Seed makes two rooms alike in noise and trouble.
	Seed uint64
	// Pipes uses in-memory pipes even where there are pseudo-terminals.
	Pipes bool
	// Events happen by themselves, each again every 24 hours of the clock. Without
	// any, the fan runs, fresh baths stand, and nobody is in.
	Events []Event
}

// Room is a running pretend room.
type Room struct {
	state    *state
	clock    sensors.Clock
	start    time.Duration
	pipes    pipeOpener // nil with pseudo-terminals
	paths    map[string]string
	commands chan func()
	heard    chan heard
	waiting  map[chan struct{}]time.Duration // of the loop
	ctx      context.Context
	cancel   context.CancelFunc
	loop     sync.WaitGroup
}

// Start sets up a room and lets it run until the context ends or Stop is called.
func Start(ctx context.Context, o Options) (*Room, error) {
	if o.Clock == nil {
		return nil, errors.New("a simulated room needs a clock")
	}
	if slices.ContainsFunc(o.Events, func(e Event) bool { return e.Trouble == Trouble{} }) {
		return nil, errors.New("an event of the simulated room is empty: make events with ParseSchedule")
	}
	r := &Room{clock: o.Clock, start: o.Clock.Now().Mono, paths: map[string]string{},
		commands: make(chan func()), heard: make(chan heard, pipeQueue), waiting: map[chan struct{}]time.Duration{}}
	r.state = newState(o)
	if err := r.wireUp(o); err != nil {
		return nil, err
	}
	r.ctx, r.cancel = context.WithCancel(ctx)
	r.loop.Go(r.run)
	return r, nil
}

func newState(o Options) *state {
	dice := rand.New(rand.NewPCG(o.Seed, 1))
	s := &state{model: newModel(dice), probes: probes(), dice: dice,
		troubles: map[cause]time.Duration{}, events: slices.Clone(o.Events)}
	inOrder(s.events)
	for _, p := range s.probes {
		p.felt = p.truth(s.model)
		p.say(dice, faults{})
	}
	return s
}

func (r *Room) wireUp(o Options) error {
	wires := []*wire{{name: lineTrays, speak: sayTrays}, {name: lineAir, speak: sayAir}, {name: lineDuct}}
	if o.Pipes || !havePseudoTerminals() {
		r.pipes = pipeOpener{}
	}
	for _, w := range wires {
		r.paths[w.name] = filepath.Join(o.Dir, "by-id", "sim-"+w.name)
		po := plugOptions{line: w.name, path: r.paths[w.name]}
		if w.speak == nil {
			po.hears = r.heard
		}
		if r.pipes == nil {
			w.plug = newPtyPlug(po)
		} else {
			p := newPipe(po)
			r.pipes[po.path], w.plug = p, p
		}
		if err := w.plug.insert(); err != nil {
			r.state.unplug()
			return err
		}
		w.in = true
		r.state.wires = append(r.state.wires, w)
	}
	r.state.happen()
	return nil
}

func (s *state) unplug() {
	for _, w := range s.wires {
		w.plug.pull()
	}
}

// Path is what a configuration names as the port of a line: "trays", "air" or
// "duct". It stays the same while plugs come and go; "" for no such line.
func (r *Room) Path(line string) string { return r.paths[line] }

// Opener opens the lines of a room on in-memory pipes. It is nil for one on
// pseudo-terminals, whose paths open like any serial port.
func (r *Room) Opener() sensors.Opener {
	if r.pipes == nil {
		return nil
	}
	return r.pipes
}

// Kind says over what the room is reached.
func (r *Room) Kind() string {
	if r.pipes == nil {
		return "pseudo-terminals"
	}
	return "in-memory pipes"
}

// Do begins a trouble, now. The error is that of a room that has been stopped,
// or of the zero Trouble.
func (r *Room) Do(t Trouble) error {
	result := make(chan error, 1)
	if err := r.order(r.ctx, func() { result <- r.state.do(t) }); err != nil {
		return err
	}
	return <-result
}

// Await returns when the room has said all that it has to say up to a time after
// its start, and has answered what it was asked over pipes before. With a clock
// that a test moves, it parts one second from the next.
func (r *Room) Await(ctx context.Context, elapsed time.Duration) error {
	reached := make(chan struct{})
	if err := r.order(ctx, func() { r.waiting[reached] = elapsed; r.wake() }); err != nil {
		return err
	}
	select {
	case <-reached:
		return nil
	case <-ctx.Done():
		return ctx.Err()
	case <-r.ctx.Done():
		return ErrStopped
	}
}

// order has the loop do something.
func (r *Room) order(ctx context.Context, f func()) error {
	select {
	case r.commands <- f:
		return nil
	case <-ctx.Done():
	case <-r.ctx.Done():
	}
	if r.ctx.Err() != nil {
		return ErrStopped
	}
	return ctx.Err()
}

// Stop ends the room and returns when nothing of it is left. It may be called again.
func (r *Room) Stop() {
	r.cancel()
	r.loop.Wait()
}

// run is the loop that owns the state.
func (r *Room) run() {
	defer r.state.unplug()
	next := r.wait()
	for {
		select {
		case <-r.ctx.Done():
			return
		case <-next:
			r.listen()
			r.catchUp()
			next = r.wait()
			r.wake()
		case f := <-r.commands:
			r.listen()
			f()
		case h := <-r.heard:
			r.state.hear(h)
		}
	}
}

// listen answers what has been asked already, so that it is answered first.
func (r *Room) listen() {
	for {
		select {
		case h := <-r.heard:
			r.state.hear(h)
		default:
			return
		}
	}
}

// wait is for the next tick.
func (r *Room) wait() <-chan time.Time {
	return r.clock.After(r.start + r.state.elapsed + tick - r.clock.Now().Mono)
}

// catchUp lets every tick pass whose time has come. If several have, as on a fast
// clock, the room speaks but once: the rest would arrive late and be dated wrong.
func (r *Room) catchUp() {
	before := r.state.elapsed
	for r.start+r.state.elapsed+tick <= r.clock.Now().Mono {
		r.state.pass()
	}
	if r.state.elapsed > before {
		r.state.speak()
	}
}

// wake lets go those whose time has been reached.
func (r *Room) wake() {
	for reached, elapsed := range r.waiting {
		if elapsed < r.state.elapsed+tick {
			close(reached)
			delete(r.waiting, reached)
		}
	}
}
