package serialport

import (
	"errors"
	"io"
	"sync"
	"sync/atomic"
	"time"

	"wetside/sensors"
	"wetside/sensors/quantity/phrase"
)

const (
	readSize = 4096 // what a terminal holds at most
	// queueLength bounds what waits for a slow receiver; behind it the reader
	// stops reading and the operating system's own small buffer overflows.
	queueLength = 16
	// fastEnds is how many ends of file in a row, each sooner than half the
	// timeout, make a vanished device: one alone may be a hiccup of the scheduler.
	fastEnds = 3
	// checkEvery is how often a path is checked, whether bytes come or not.
	checkEvery = time.Second
	// closeLimit is how long Close waits for a device that does not let go.
	closeLimit = time.Second
)

// device is an open serial port of the library.
type device interface {
	Read(p []byte) (int, error)
	Write(p []byte) (int, error)
	Flush() error
	Close() error
}

// guardian keeps others off a port and knows whether it is still the same one.
type guardian interface {
	check() error
	// wait waits until it is worth while to read, and says whether it is. It gives up
	// after the limit, and once stop is closed and interrupt was called.
	wait(stop <-chan struct{}, limit time.Duration) bool
	interrupt()
	release() error
}

type lineParts struct {
	path   string
	device device
	guard  guardian
	stuck  *atomic.Int64 // counts writes left behind
}

// line is an open serial line. Its reader goroutine alone reads the device and
// closes it; its writer goroutine alone writes.
type line struct {
	lineParts
	chunks chan []byte
	writes chan writing
	wrote  chan struct{} // closed when the writer has left
	ended  chan struct{} // closed when the device is let go

	stopOnce sync.Once
	stop     chan struct{} // closed when the line is to end, after cause is set
	cause    error         // why the line went; nil after Close
	closing  error         // what went wrong in closing; set before ended is closed
}

func startLine(parts lineParts) *line {
	l := &line{lineParts: parts, chunks: make(chan []byte, queueLength), writes: make(chan writing),
		wrote: make(chan struct{}), ended: make(chan struct{}), stop: make(chan struct{})}
	go l.read()
	go l.write()
	return l
}

// Chunks delivers bytes as they arrive; see [sensors.Line].
func (l *line) Chunks() <-chan []byte { return l.chunks }

func (l *line) Err() error {
	select {
	case <-l.stop:
		return l.cause
	default:
		return nil
	}
}

// Close ends the line and waits until the device is let go, but never for long.
func (l *line) Close() error {
	l.end(nil)
	limit := time.NewTimer(closeLimit)
	defer limit.Stop()
	select {
	case <-l.ended:
		return l.closing
	case <-limit.C:
		return phrase.Errorf("%s: the device did not let go within %v and is left behind", l.path, closeLimit)
	}
}

// end tells both goroutines to leave; the first cause stands.
func (l *line) end(cause error) {
	l.stopOnce.Do(func() {
		if cause != nil {
			l.cause = phrase.Errorf("%s: %w", l.path, cause)
		}
		close(l.stop)
		l.guard.interrupt()
	})
}

func (l *line) stopping() bool {
	select {
	case <-l.stop:
		return true
	default:
		return false
	}
}

// read is the reader goroutine.
func (l *line) read() {
	buffer := make([]byte, readSize)
	checked := time.Now()
	for fast := 0; !l.stopping(); {
		n := 0
		if l.guard.wait(l.stop, checkEvery) {
			n, fast = l.readOnce(buffer, fast)
		}
		if n == 0 || time.Since(checked) > checkEvery {
			checked = time.Now()
			if err := l.guard.check(); err != nil {
				l.end(err)
			}
		}
	}
	l.letGo()
}

// readOnce hands on what the device has, and counts the ends that came too fast.
func (l *line) readOnce(buffer []byte, fast int) (n, nowFast int) {
	began := time.Now()
	n, err := l.device.Read(buffer)
	switch {
	case n > 0:
		l.push(buffer[:n])
	case err != nil && !errors.Is(err, io.EOF):
		l.end(phrase.Errorf("%w: reading failed: %w", sensors.ErrGone, err))
	case time.Since(began) >= ReadTimeout/2:
	default:
		if fast++; fast >= fastEnds {
			l.end(phrase.Errorf("%w: reading ends at once", sensors.ErrGone))
		}
		return 0, fast
	}
	return n, 0
}

// push hands on a copy of what was read, which then belongs to the receiver.
func (l *line) push(data []byte) {
	chunk := append(make([]byte, 0, len(data)), data...)
	select {
	case l.chunks <- chunk:
	case <-l.stop:
	}
}
