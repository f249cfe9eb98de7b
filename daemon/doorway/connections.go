package doorway

import (
	"cmp"
	"net"
	"net/http"
	"net/netip"
	"sync"
)

const (
	// mostConnections are open at a time, mostOfOne of them with one other computer.
	mostConnections = 1000
	mostOfOne       = 200
)

// Connections hands on the connections of a listener up to a number in all and for
// each other computer. One more of a computer is closed at once; where all places are
// taken, one that nobody uses gives way, of the computer that has the most.
type Connections struct {
	net.Listener
	mu   sync.Mutex
	open map[netip.Addr]int
	all  map[*connection]struct{}
	turn uint64 // counts what happens, so that the oldest is known
}

// Limit bounds the connections of a listener.
func Limit(l net.Listener) *Connections {
	return &Connections{Listener: l, open: map[netip.Addr]int{}, all: map[*connection]struct{}{}}
}

// Accept waits for the next connection that may be open.
func (c *Connections) Accept() (net.Conn, error) {
	for {
		conn, err := c.Listener.Accept()
		if err != nil {
			return nil, err
		}
		it := &connection{Conn: conn, from: addressOf(conn.RemoteAddr().String())}
		it.give = sync.OnceFunc(func() { c.give(it) })
		if c.admit(it) {
			return it, nil
		}
		_ = conn.Close() // whoever opened too many is told nothing
	}
}

// Note is for the server to tell which connections are in use; see [http.Server.ConnState].
func (c *Connections) Note(conn net.Conn, state http.ConnState) {
	if inner, is := conn.(interface{ NetConn() net.Conn }); is { // one over TLS
		conn = inner.NetConn()
	}
	it, ours := conn.(*connection)
	if !ours || state != http.StateActive && state != http.StateIdle {
		return
	}
	c.mu.Lock()
	defer c.mu.Unlock()
	c.turn++
	it.used, it.since = state == http.StateActive, c.turn
}

func (c *Connections) admit(it *connection) bool {
	c.mu.Lock()
	full, much := len(c.all) >= mostConnections, !it.from.IsLoopback() && c.open[it.from] >= mostOfOne
	var idle *connection
	if full && !much {
		idle = c.idlest()
	}
	if much || full && idle == nil {
		c.mu.Unlock()
		return false
	}
	if idle != nil {
		c.forget(idle)
	}
	c.turn++
	it.since = c.turn
	c.all[it] = struct{}{}
	c.open[it.from]++
	c.mu.Unlock()
	if idle != nil {
		_ = idle.Close()
	}
	return true
}

// idlest is the connection that is in use least: of the computer with the most of them,
// and of those the one that has waited longest. It is nil when all are in use.
func (c *Connections) idlest() (it *connection) {
	for other := range c.all {
		if other.used {
			continue
		}
		if it == nil || cmp.Or(cmp.Compare(c.open[other.from], c.open[it.from]), cmp.Compare(it.since, other.since)) > 0 {
			it = other
		}
	}
	return it
}

func (c *Connections) give(it *connection) {
	c.mu.Lock()
	defer c.mu.Unlock()
	c.forget(it)
}

func (c *Connections) forget(it *connection) {
	if _, there := c.all[it]; !there {
		return
	}
	delete(c.all, it)
	if c.open[it.from]--; c.open[it.from] <= 0 {
		delete(c.open, it.from)
	}
}

// connection gives its place back when it is closed.
type connection struct {
	net.Conn
	from netip.Addr
	give func()
	// used is set while a request is answered, and since is the turn of the last change.
	used  bool
	since uint64
}

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
