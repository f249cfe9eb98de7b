package web

import (
	"net/http"
	"net/netip"
	"strings"

	"wetside/rules/access"
)

// Accounts knows who asks, and who may.
type Accounts interface {
	// Known gives the person of a session or of a token; ok is false when it is
	// unknown, ended or revoked.
	Known(Key) (p access.Person, ok bool)
	// Measures says whether a token is one for the metrics.
	Measures(token string) bool
	// ReadsPrograms says whether a token is one for the answers to programs alone.
	ReadsPrograms(token string) bool
	// House is what people call the service by which they sign in too; empty for none.
	House() string
	// Quick names the people who chose a PIN, for the lab computer.
	Quick() []string
}

// Key is what a request shows of itself: the session of a browser, or the token of a script.
type Key struct {
	Session, Token string
	// Here is set for a request from the lab computer itself.
	Here bool
}

// CookieName names the cookie of a session. Over TLS a browser sends the one with
// the prefix to this very host alone (RFC 6265bis, section 4.1.3.2).
func CookieName(r *http.Request) string {
	if r.TLS != nil {
		return "__Host-wetside"
	}
	return "wetside"
}

// KeyOf is what a request shows of who sends it.
func KeyOf(r *http.Request) Key {
	k := Key{Here: IsHere(r)}
	if c, err := r.Cookie(CookieName(r)); err == nil {
		k.Session = c.Value
	}
	if scheme, token, found := strings.Cut(r.Header.Get("Authorization"), " "); found && strings.EqualFold(scheme, "Bearer") {
		k.Token = strings.TrimSpace(token)
	}
	return k
}

// AddressOf is the address from which a request came; the zero address when it is not known.
func AddressOf(r *http.Request) netip.Addr {
	from, err := netip.ParseAddrPort(r.RemoteAddr)
	if err != nil {
		return netip.Addr{}
	}
	return from.Addr().Unmap()
}

// IsHere says whether a request comes from this computer itself. One that was passed
// on by another program says so and does not count.
func IsHere(r *http.Request) bool {
	for _, passedOn := range []string{"Forwarded", "X-Forwarded-For", "X-Real-Ip", "Via"} {
		if r.Header.Get(passedOn) != "" {
			return false
		}
	}
	return AddressOf(r).IsLoopback()
}
