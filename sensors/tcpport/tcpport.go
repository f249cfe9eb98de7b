// Package tcpport opens lines that are reached over the network by TCP: a Modbus TCP unit, or
// a serial line behind a device that passes its bytes on.
//
// A device whose power or cable is gone does not end its connection. So a request that brings
// nothing back for [AnswerWithin] ends it here, and a line that speaks by itself is probed by
// the keep-alives of TCP.
package tcpport

import (
	"cmp"
	"context"
	"errors"
	"io"
	"net"
	"os"
	"strings"
	"sync"
	"time"

	"wetside/sensors"
	"wetside/sensors/feed"
	"wetside/sensors/quantity/phrase"
)

// Scheme begins the path of a line over TCP: tcp://192.168.1.20:502.
const Scheme = "tcp://"

const (
	// AnswerWithin is how long nothing may come back after something was sent.
	AnswerWithin  = 30 * time.Second
	connectWithin = 5 * time.Second
	sendWithin    = 2 * time.Second
	readSize      = 4096
)

// Check says what is wrong with a path.
func Check(path string) error {
	host, port, err := net.SplitHostPort(strings.TrimPrefix(path, Scheme))
	if err != nil || host == "" || port == "" || !strings.HasPrefix(path, Scheme) || strings.ContainsAny(path[len(Scheme):], "/ ") {
		return phrase.Errorf("%q is not a network address: expected one like tcp://192.168.1.20:502", path)
	}
	return nil
}

// Opener opens lines over TCP. Its zero value is ready.
type Opener struct {
	// AnswerWithin takes the place of the usual one when not zero.
	AnswerWithin time.Duration
}

var _ sensors.Opener = Opener{}

// Open connects; see [sensors.Opener].
func (o Opener) Open(ctx context.Context, s sensors.LineSettings) (sensors.Line, error) {
	if err := Check(s.Path); err != nil {
		return nil, err
	}
	probing := net.KeepAliveConfig{Enable: true, Idle: 15 * time.Second, Interval: 5 * time.Second, Count: 3}
	d := net.Dialer{Timeout: connectWithin, KeepAliveConfig: probing}
	c, err := d.DialContext(ctx, "tcp", strings.TrimPrefix(s.Path, Scheme))
	if err != nil {
		return nil, phrase.Errorf("can't connect to %s: check its power, its cable and the address; "+
			"some devices take one connection at a time (%w)", s.Path, err)
	}
	l := &connection{conn: c, within: o.AnswerWithin}
	l.within = cmp.Or(l.within, AnswerWithin)
	return feed.Start(feed.Options{Path: s.Path, Fetch: l.fetch, Send: l.send, Free: c.Close}), nil
}

// connection knows whether an answer is awaited.
type connection struct {
	conn   net.Conn
	within time.Duration

	mu      sync.Mutex // over what follows and the deadline of reading
	awaited bool
}

// heard notes that something came, and sent that something may be expected.
func (c *connection) heard() error { return c.await(false, time.Time{}) }
func (c *connection) sent() error  { return c.await(true, time.Now().Add(c.within)) }

func (c *connection) await(answer bool, until time.Time) error {
	c.mu.Lock()
	defer c.mu.Unlock()
	if c.awaited == answer {
		return nil
	}
	c.awaited = answer
	return c.conn.SetReadDeadline(until)
}

func (c *connection) send(p []byte) error {
	if err := c.conn.SetWriteDeadline(time.Now().Add(sendWithin)); err != nil {
		return err
	}
	if _, err := c.conn.Write(p); err != nil {
		return err
	}
	return c.sent()
}

func (c *connection) fetch(_ context.Context, push func([]byte)) error {
	buffer := make([]byte, readSize)
	for {
		n, err := c.conn.Read(buffer)
		if n > 0 {
			push(append(make([]byte, 0, n), buffer[:n]...))
			err = errors.Join(err, c.heard())
		}
		switch {
		case err == nil:
		case errors.Is(err, os.ErrDeadlineExceeded):
			return phrase.Errorf("%w: nothing came back for %v", sensors.ErrGone, c.within)
		case errors.Is(err, io.EOF):
			return phrase.Errorf("%w: the device ended the connection", sensors.ErrGone)
		default:
			return phrase.Errorf("%w: %w", sensors.ErrGone, err)
		}
	}
}
