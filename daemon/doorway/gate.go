// Package doorway stands between the network and the pages: the certificate, how
// many connections and requests one address may have, and under which names the
// pages may be asked for.
package doorway

import (
	"maps"
	"net"
	"net/http"
	"net/netip"
	"os"
	"strconv"
	"strings"
	"sync"
	"time"

	"wetside/sensors"
)

const (
	// refill is how many points an address gets back in a second, full how many it has at most.
	refill = 40
	full   = 200
	// What a request takes: to look, to change something, to sign in.
	lookCosts   = 1
	changeCosts = 5
	signInCosts = 20
	// mostAddresses bounds how many addresses are remembered.
	mostAddresses = 10000
)

// Gate looks at each request before anything else does.
type Gate struct {
	names map[string]bool
	clock sensors.Clock

	mu      sync.Mutex
	buckets map[netip.Addr]bucket
}

// bucket is what an address may still spend.
type bucket struct {
	points float64
	at     time.Duration // monotonic
}

// NewGate lets the pages be asked for under the names of this computer, under more
// names, and under any bare address.
func NewGate(clock sensors.Clock, names []string) *Gate {
	g := &Gate{names: map[string]bool{"localhost": true}, clock: clock, buckets: map[netip.Addr]bucket{}}
	if own, err := os.Hostname(); err == nil {
		names = append([]string{own, own + ".local"}, names...)
	}
	for _, n := range names {
		g.names[fold(n)] = true
	}
	return g
}

func fold(name string) string { return strings.ToLower(strings.TrimSuffix(name, ".")) }

// Knows says whether the pages may be asked for under a host. A name that is not
// ours may have been pointed here by somebody whose page wants to read ours (DNS
// rebinding); a bare address can't be pointed anywhere.
func (g *Gate) Knows(host string) bool {
	name := host
	if h, port, err := net.SplitHostPort(host); err == nil {
		if _, err := strconv.ParseUint(port, 10, 16); err != nil {
			return false
		}
		name = h
	} else if strings.HasPrefix(name, "[") && strings.HasSuffix(name, "]") {
		name = name[1 : len(name)-1]
	}
	if ip, err := netip.ParseAddr(name); err == nil {
		return ip.Zone() == ""
	}
	return g.names[fold(name)]
}

// Check gives the status and the sentence with which a request is refused; a status
// of 0 lets it through.
func (g *Gate) Check(r *http.Request) (status int, sentence string) {
	if !g.Knows(r.Host) {
		return http.StatusMisdirectedRequest, "This site is not known under the name in the address. Use its number or its own name, or " +
			"have the name added with hosts = under [access] in the configuration."
	}
	from := addressOf(r.RemoteAddr)
	if from.IsLoopback() || g.spend(from, cost(r)) {
		return 0, ""
	}
	return http.StatusTooManyRequests, "Too many requests came from this address. Wait a few seconds and load the page again."
}

func cost(r *http.Request) float64 {
	switch {
	case r.Method == http.MethodGet || r.Method == http.MethodHead:
		return lookCosts
	case r.URL.Path == "/sign-in" || r.URL.Path == "/join":
		return signInCosts
	}
	return changeCosts
}

// spend takes points from an address; false when it has too few.
func (g *Gate) spend(from netip.Addr, points float64) bool {
	if from.Is6() {
		if p, err := from.WithZone("").Prefix(64); err == nil {
			from = p.Addr()
		}
	}
	g.mu.Lock()
	defer g.mu.Unlock()
	now := g.clock.Now().Mono
	b, known := g.buckets[from]
	if !known {
		g.makeRoom(now)
		b = bucket{full, now}
	}
	b.points = min(full, b.points+refill*(now-b.at).Seconds())
	b.at = now
	enough := b.points >= points
	if enough {
		b.points -= points
	}
	g.buckets[from] = b
	return enough
}

// makeRoom forgets addresses that have everything back, and one more if need be.
func (g *Gate) makeRoom(now time.Duration) {
	if len(g.buckets) < mostAddresses {
		return
	}
	maps.DeleteFunc(g.buckets, func(_ netip.Addr, b bucket) bool { return b.points+refill*(now-b.at).Seconds() >= full })
	for a := range g.buckets {
		if len(g.buckets) < mostAddresses {
			return
		}
		delete(g.buckets, a)
	}
}
