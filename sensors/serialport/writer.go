package serialport

import (
	"bytes"
	"time"

	"wetside/sensors"
	"wetside/sensors/quantity/phrase"
)

const (
	// writeLimit is how long the operating system may take to accept bytes.
	writeLimit = time.Second
	// freeing is how long a stuck write gets to return once its bytes are thrown away.
	freeing = 50 * time.Millisecond
)

type writing struct {
	data []byte
	done chan error // holds one answer
}

// Write sends p through the writer goroutine. A device that does not accept it
// within a second is gone: the library knows no timeout of its own.
func (l *line) Write(p []byte) error {
	limit := time.NewTimer(writeLimit)
	defer limit.Stop()
	w := writing{data: bytes.Clone(p), done: make(chan error, 1)}
	select {
	case l.writes <- w:
	case <-l.stop:
		return l.closedError()
	case <-limit.C:
		return l.overrun()
	}
	select {
	case err := <-w.done:
		return err
	case <-l.stop:
		return l.closedError()
	case <-limit.C:
		return l.overrun()
	}
}

func (l *line) overrun() error {
	l.end(phrase.Errorf("%w: it accepted no bytes for %v", sensors.ErrGone, writeLimit))
	return l.closedError()
}

func (l *line) closedError() error {
	if err := l.Err(); err != nil {
		return err
	}
	return phrase.Errorf("%s: the line is closed", l.path)
}

// write is the writer goroutine.
func (l *line) write() {
	defer close(l.wrote)
	for {
		select {
		case <-l.stop:
			return
		case w := <-l.writes:
			_, err := l.device.Write(w.data)
			if err != nil {
				err = phrase.Errorf("%w: writing failed: %w", sensors.ErrGone, err)
				l.end(err)
			}
			w.done <- err
		}
	}
}

// letGo closes the device once nobody uses it. Bytes not yet sent are thrown
// away first, or closing would wait for them.
func (l *line) letGo() {
	defer close(l.ended)
	defer close(l.chunks)
	_ = l.device.Flush() // fails on a vanished device, which holds nothing
	select {
	case <-l.wrote:
		l.closing = l.shut()
	case <-time.After(freeing):
		l.closing = l.abandon()
	}
}

// abandon leaves a stuck write behind; the device is closed if it ever returns.
// The guard is let go at once, so that the line can be opened again.
func (l *line) abandon() error {
	l.stuck.Add(1)
	go func() {
		<-l.wrote
		_ = l.device.Close() // nobody is left to tell
		l.stuck.Add(-1)
	}()
	failed := phrase.Errorf("%s: a write hangs in the device and is left behind", l.path)
	if err := l.guard.release(); err != nil {
		return phrase.Errorf("%w; %w", failed, err)
	}
	return failed
}

func (l *line) shut() error {
	err := l.device.Close()
	if failed := l.guard.release(); err == nil {
		err = failed
	}
	if err != nil {
		return phrase.Errorf("closing %s: %w", l.path, err)
	}
	return nil
}
