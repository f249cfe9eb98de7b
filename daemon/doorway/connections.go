package doorway

import (
	"net"
	"net/netip"
	"sync"
)

const (
	// mostConnections are open at a time, mostOfOne of them with one other computer.
	mostConnections = 1000
	mostOfOne       = 200
)

// Connections hands on the connections of a listener up to a number in all and for
// each other computer; one more is closed at once.
type Connections struct {
	net.Listener
	mu   sync.Mutex
	open map[netip.Addr]int
	all  int
}

// Limit bounds the connections of a listener.
func Limit(l net.Listener) *Connections {
	return &Connections{Listener: l, open: map[netip.Addr]int{}}
}

// Accept waits for the next connection that may be open.
func (c *Connections) Accept() (net.Conn, error) {
	for {
		conn, err := c.Listener.Accept()
		if err != nil {
			return nil, err
		}
		from := addressOf(conn.RemoteAddr().String())
		if c.take(from) {
			return &connection{Conn: conn, give: sync.OnceFunc(func() { c.give(from) })}, nil
		}
		_ = conn.Close() // whoever opened too many is told nothing
	}
}

func (c *Connections) take(from netip.Addr) bool {
	c.mu.Lock()
	defer c.mu.Unlock()
	if c.all >= mostConnections || !from.IsLoopback() && c.open[from] >= mostOfOne {
		return false
	}
	c.all++
	c.open[from]++
	return true
}

func (c *Connections) give(from netip.Addr) {
	c.mu.Lock()
	defer c.mu.Unlock()
	c.all--
	if c.open[from]--; c.open[from] <= 0 {
		delete(c.open, from)
	}
}

// connection gives its place back when it is closed.
type connection struct {
	net.Conn
	give func()
}

// Close closes the connection.
func (c *connection) Close() error {
	c.give()
	return c.Conn.Close()
}

func addressOf(text string) netip.Addr {
	from, err := netip.ParseAddrPort(text)
	if err != nil {
		return netip.Addr{}
	}
	return from.Addr().Unmap()
}
