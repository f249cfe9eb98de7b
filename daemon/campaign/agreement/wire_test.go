package agreement_test

import (
	"context"
	"errors"
	"net"
	"sync"
	"syscall"

	"wetside/sensors"
)

// cabinet is an opener of lines into which a test puts bytes.
type cabinet struct {
	mu    sync.Mutex
	wires map[string]*wire
	out   map[string]bool // unplugged
}

// wire is one opened line.
type wire struct {
	chunks chan []byte
	once   sync.Once
	lost   error
}

func newCabinet() *cabinet { return &cabinet{wires: map[string]*wire{}, out: map[string]bool{}} }

// Open opens a line unless its plug is out.
func (c *cabinet) Open(_ context.Context, s sensors.LineSettings) (sensors.Line, error) {
	c.mu.Lock()
	defer c.mu.Unlock()
	if c.out[s.Path] {
		return nil, errors.Join(sensors.ErrGone, syscall.ENOENT)
	}
	w := &wire{chunks: make(chan []byte, 64)}
	c.wires[s.Path] = w
	return w, nil
}

// send puts bytes on a line; nobody hears them while its plug is out.
func (c *cabinet) send(path string, bytes []byte) {
	c.mu.Lock()
	defer c.mu.Unlock()
	if w := c.wires[path]; w != nil && !c.out[path] {
		w.chunks <- bytes
	}
}

// unplug pulls the plug of a line, or puts it back.
func (c *cabinet) unplug(path string, out bool) {
	c.mu.Lock()
	w := c.wires[path]
	c.out[path] = out
	delete(c.wires, path)
	c.mu.Unlock()
	if w != nil && out {
		w.lost = sensors.ErrGone
		_ = w.Close() // it never fails
	}
}

func (w *wire) Chunks() <-chan []byte { return w.chunks }
func (w *wire) Err() error            { return w.lost }
func (w *wire) Write([]byte) error    { return nil }
func (w *wire) Close() error          { w.once.Do(func() { close(w.chunks) }); return nil }

// doorbell is a listener whose visitors come through the memory of this process.
type doorbell struct {
	visitors chan net.Conn
	closed   chan struct{}
	once     sync.Once
}

func newDoorbell() *doorbell {
	return &doorbell{visitors: make(chan net.Conn), closed: make(chan struct{})}
}

// call opens a connection to the listener.
func (d *doorbell) call(ctx context.Context, _, _ string) (net.Conn, error) {
	near, far := net.Pipe()
	select {
	case d.visitors <- local{far}:
		return local{near}, nil
	case <-d.closed:
		return nil, net.ErrClosed
	case <-ctx.Done():
		return nil, ctx.Err()
	}
}

func (d *doorbell) Accept() (net.Conn, error) {
	select {
	case c := <-d.visitors:
		return c, nil
	case <-d.closed:
		return nil, net.ErrClosed
	}
}

func (d *doorbell) Close() error   { d.once.Do(func() { close(d.closed) }); return nil }
func (d *doorbell) Addr() net.Addr { return thisComputer() }

// local is a connection that comes from this computer.
type local struct{ net.Conn }

func (local) LocalAddr() net.Addr  { return thisComputer() }
func (local) RemoteAddr() net.Addr { return thisComputer() }

func thisComputer() net.Addr { return &net.TCPAddr{IP: net.IPv4(127, 0, 0, 1), Port: 8420} }
