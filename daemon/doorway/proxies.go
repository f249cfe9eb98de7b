package doorway

import (
	"net/http"
	"net/netip"
	"slices"
	"strings"
)

// Proxies are the programs that pass requests on to this one and are trusted to say from
// whom. Without them everybody behind a proxy would count as one address.
type Proxies []netip.Addr

// Resolve gives a request the address of whoever sent it to the proxy. The header
// X-Forwarded-For is read from its end: what stands before the last address that is no
// proxy of ours was written by a stranger.
func (p Proxies) Resolve(h http.Handler) http.Handler {
	if len(p) == 0 {
		return h
	}
	return http.HandlerFunc(func(w http.ResponseWriter, r *http.Request) {
		if from, known := p.sender(r); known {
			r.RemoteAddr = netip.AddrPortFrom(from, 0).String()
		}
		h.ServeHTTP(w, r)
	})
}

// sender is who sent a request to the nearest proxy that is not ours.
func (p Proxies) sender(r *http.Request) (from netip.Addr, known bool) {
	if !p.has(addressOf(r.RemoteAddr)) {
		return netip.Addr{}, false
	}
	hops := strings.Split(strings.Join(r.Header.Values("X-Forwarded-For"), ","), ",")
	for i := len(hops) - 1; i >= 0; i-- {
		hop, err := netip.ParseAddr(strings.Trim(strings.TrimSpace(hops[i]), "[]"))
		if err != nil {
			return netip.Addr{}, false
		}
		if !p.has(hop.Unmap()) {
			return hop.Unmap(), true
		}
	}
	return netip.Addr{}, false
}

func (p Proxies) has(a netip.Addr) bool {
	return slices.ContainsFunc(p, func(own netip.Addr) bool { return own.Unmap() == a })
}
