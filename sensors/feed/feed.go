// Package feed is what lines are made of that are no serial ports: a connection, a folder of
// files, a subscription. A goroutine of the line's own fetches bytes and hands them on through
// a bounded queue.
package feed

import (
	"context"
	"sync"
	"time"

	"wetside/sensors"
	"wetside/sensors/quantity/phrase"
)

// Options say what a line is made of.
type Options struct {
	// Path names the line in errors.
	Path string
	// Fetch hands bytes on until ctx ends or the line is gone, and says why it is gone. What
	// it hands on belongs to the receiver.
	Fetch func(ctx context.Context, push func([]byte)) error
	// Send writes bytes, bounded in time; nil for a line to which nothing is sent.
	Send func([]byte) error
	// Free lets go of what Fetch may be waiting for; nil where its context is enough.
	Free func() error
}

const (
	// queueLength bounds what waits for a slow receiver; behind it nothing more is fetched.
	queueLength = 16
	// closeLimit is how long Close waits for what does not let go.
	closeLimit = time.Second
)

// Start makes an open line.
func Start(o Options) sensors.Line {
	ctx, cancel := context.WithCancel(context.Background())
	l := &line{options: o, cancel: cancel, stopped: ctx.Done(), chunks: make(chan []byte, queueLength), ended: make(chan struct{})}
	go l.fetch(ctx)
	return l
}

type line struct {
	options Options
	cancel  context.CancelFunc
	stopped <-chan struct{}
	chunks  chan []byte
	ended   chan struct{}

	mu      sync.Mutex // over what follows
	closed  bool
	cause   error
	freed   bool
	closing error // of letting go
}

var _ sensors.Line = (*line)(nil)

// Chunks delivers bytes as they arrive; see [sensors.Line].
func (l *line) Chunks() <-chan []byte { return l.chunks }

func (l *line) Err() error {
	l.mu.Lock()
	defer l.mu.Unlock()
	return l.cause
}

// Write sends p. A line that does not take what is sent is gone.
func (l *line) Write(p []byte) error {
	if l.options.Send == nil {
		return phrase.Errorf("%s: nothing can be sent there", l.options.Path)
	}
	err := l.options.Send(p)
	if err != nil {
		l.end(phrase.Errorf("%s: %w: sending failed: %w", l.options.Path, sensors.ErrGone, err))
		if first := l.Err(); first != nil { // it had gone before
			return first
		}
	}
	return err
}

// Close ends the line and waits until it is let go, but never for long.
func (l *line) Close() error {
	l.mu.Lock()
	l.closed = true
	l.mu.Unlock()
	l.end(nil)
	limit := time.NewTimer(closeLimit)
	defer limit.Stop()
	select {
	case <-l.ended:
		l.mu.Lock()
		defer l.mu.Unlock()
		return l.closing
	case <-limit.C:
		return phrase.Errorf("%s: it did not let go within %v and is left behind", l.options.Path, closeLimit)
	}
}

// end has the goroutine leave; the first cause stays.
func (l *line) end(cause error) {
	l.mu.Lock()
	defer l.mu.Unlock()
	if l.cause == nil && !l.closed {
		l.cause = cause
	}
	l.cancel()
	if l.options.Free != nil && !l.freed {
		l.freed, l.closing = true, l.options.Free()
	}
}

func (l *line) fetch(ctx context.Context) {
	defer close(l.ended)
	defer close(l.chunks)
	err := l.options.Fetch(ctx, func(data []byte) {
		select {
		case l.chunks <- data:
		case <-l.stopped:
		}
	})
	if err == nil {
		err = sensors.ErrGone
	}
	l.end(phrase.Errorf("%s: %w", l.options.Path, err))
}
