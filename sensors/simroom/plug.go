package simroom

import (
	"bytes"
	"context"
	"fmt"
	"sync"

	"wetside/sensors"
)

// plug is the probe's end of a line.
type plug interface {
	// say sends to whoever listens, and tells whether anybody does. It never waits:
	// what nobody takes is lost, as on a real line.
	say(p []byte) bool
	// pull takes the plug out; the other end sees the device vanish.
	pull()
	// insert puts it back under the same name.
	insert() error
}

// heard are bytes that came over a line.
type heard struct {
	line string
	data []byte
}

// plugOptions say what a plug belongs to.
type plugOptions struct {
	line  string
	path  string       // what a configuration names
	hears chan<- heard // nil for a line that only speaks
}

// pipeQueue is how many chunks wait for a slow listener; what comes on top is lost.
const pipeQueue = 16

// pipe is a plug that hands its bytes over in memory.
type pipe struct {
	plugOptions
	mu       sync.Mutex
	plugged  bool
	listener *pipeLine // nil: nobody has the line open
}

func newPipe(o plugOptions) *pipe { return &pipe{plugOptions: o} }

func (p *pipe) insert() error {
	p.mu.Lock()
	defer p.mu.Unlock()
	p.plugged = true
	return nil
}

func (p *pipe) say(data []byte) bool {
	p.mu.Lock()
	defer p.mu.Unlock()
	if p.listener == nil {
		return false
	}
	select {
	case p.listener.chunks <- bytes.Clone(data):
	default:
	}
	return true
}

func (p *pipe) pull() {
	p.mu.Lock()
	defer p.mu.Unlock()
	p.plugged = false
	if p.listener != nil {
		p.end(p.listener, fmt.Errorf("%s: %w", p.path, sensors.ErrGone))
	}
}

// end closes a line that is still the listener; the lock is held.
func (p *pipe) end(l *pipeLine, why error) {
	if p.listener != l {
		return
	}
	p.listener = nil
	l.err = why
	close(l.chunks)
}

func (p *pipe) open() (sensors.Line, error) {
	p.mu.Lock()
	defer p.mu.Unlock()
	if !p.plugged {
		return nil, fmt.Errorf("%s: %w", p.path, sensors.ErrAbsent)
	}
	if p.listener != nil {
		return nil, fmt.Errorf("%s: %w", p.path, sensors.ErrBusy)
	}
	p.listener = &pipeLine{pipe: p, chunks: make(chan []byte, pipeQueue)}
	return p.listener, nil
}

// pipeLine is the computer's end of a pipe.
type pipeLine struct {
	pipe   *pipe
	chunks chan []byte
	err    error // guarded by the pipe's lock
}

var _ sensors.Line = (*pipeLine)(nil)

// Chunks delivers bytes as they arrive; see [sensors.Line].
func (l *pipeLine) Chunks() <-chan []byte { return l.chunks }

// Err says why the line went; nil while it is open and after Close.
func (l *pipeLine) Err() error {
	l.pipe.mu.Lock()
	defer l.pipe.mu.Unlock()
	return l.err
}

// Write sends p to the probes. It never waits: probes that do not take it have gone.
func (l *pipeLine) Write(p []byte) error {
	l.pipe.mu.Lock()
	defer l.pipe.mu.Unlock()
	if l.pipe.listener != l {
		return fmt.Errorf("%s: %w", l.pipe.path, sensors.ErrGone)
	}
	if l.pipe.hears == nil {
		return nil
	}
	select {
	case l.pipe.hears <- heard{l.pipe.line, bytes.Clone(p)}:
		return nil
	default:
		l.pipe.end(l, fmt.Errorf("%s takes no more bytes: %w", l.pipe.path, sensors.ErrGone))
		return l.err
	}
}

func (l *pipeLine) Close() error {
	l.pipe.mu.Lock()
	defer l.pipe.mu.Unlock()
	l.pipe.end(l, nil)
	return nil
}

// pipeOpener opens the lines of a room that has no pseudo-terminals.
type pipeOpener map[string]*pipe // by path

// Open opens a line of the room by its path; the other settings do not matter to a pipe.
func (o pipeOpener) Open(ctx context.Context, settings sensors.LineSettings) (sensors.Line, error) {
	if err := ctx.Err(); err != nil {
		return nil, err
	}
	p, ok := o[settings.Path]
	if !ok {
		return nil, fmt.Errorf("%s: %w", settings.Path, sensors.ErrAbsent)
	}
	return p.open()
}
