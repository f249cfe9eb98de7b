package dashboard

import (
	"context"
	"net/http"
	"net/netip"
	"strings"
	"time"

	"wetside/rules/access"
)

// Door knows the people who sign in, and the scripts that have a token. Each error
// is one sentence for the person who asked and holds no secret.
type Door interface {
	accounts
	// SignIn begins a session.
	SignIn(ctx context.Context, try SignIn) (Session, error)
	// SignOut ends the session of a key.
	SignOut(ctx context.Context, k Key)
	// Invited says whom an invitation is for.
	Invited(code string) (access.Person, error)
	// Join takes up an invitation.
	Join(ctx context.Context, j Joining) error
	// People lists who may sign in, whom an invitation waits for, and the scripts.
	People() []Member
	// Invite and Reset give a code with which somebody chooses a password, once.
	Invite(ctx context.Context, p access.Person) (code string, err error)
	Reset(ctx context.Context, name string) (code string, err error)
	// ChangeRole gives somebody another role.
	ChangeRole(ctx context.Context, p access.Person) error
	// Revoke takes an account, an invitation or a token away at once.
	Revoke(ctx context.Context, name string) error
}

// accounts knows who asks, and who may.
type accounts interface {
	// Known gives the person of a session or of a token; ok is false when it is
	// unknown, ended or revoked.
	Known(Key) (p access.Person, ok bool)
	// Measures says whether a token is one for the metrics.
	Measures(token string) bool
	// Quick names the people who chose a PIN, for the lab computer.
	Quick() []string
}

// Key is what a request shows of itself: the session of a browser, or the token of a script.
type Key struct {
	Session, Token string
	// Here is set for a request from the lab computer itself.
	Here bool
}

// SignIn is a try to sign in, with a password or, on the lab computer, with a PIN.
type SignIn struct {
	Name, Password, PIN string
	From                netip.Addr
	Here                bool
}

// Session is what a browser keeps of a sign-in.
type Session struct {
	Key   string
	Until time.Time
}

// Joining takes up an invitation with a password, typed twice, and perhaps a PIN.
type Joining struct{ Code, Password, Again, PIN string }

// Member is somebody on the list of people.
type Member struct {
	Name  string
	Role  access.Role
	Since time.Time
	// Joined is false while an invitation waits.
	Joined, PIN bool
	Sessions    int
	// Script is what a token opens; empty for a person.
	Script string
}

// cookieName names the cookie of a session. Over TLS a browser sends the one with
// the prefix to this very host alone (RFC 6265bis, section 4.1.3.2).
func cookieName(r *http.Request) string {
	if r.TLS != nil {
		return "__Host-wetside"
	}
	return "wetside"
}

func keyOf(r *http.Request) Key {
	k := Key{Here: isHere(r)}
	if c, err := r.Cookie(cookieName(r)); err == nil {
		k.Session = c.Value
	}
	if scheme, token, found := strings.Cut(r.Header.Get("Authorization"), " "); found && strings.EqualFold(scheme, "Bearer") {
		k.Token = strings.TrimSpace(token)
	}
	return k
}

// addressOf is the address from which a request came; the zero address when it is not known.
func addressOf(r *http.Request) netip.Addr {
	from, err := netip.ParseAddrPort(r.RemoteAddr)
	if err != nil {
		return netip.Addr{}
	}
	return from.Addr().Unmap()
}

// isHere says whether a request comes from this computer itself. One that was passed
// on by another program says so and does not count.
func isHere(r *http.Request) bool {
	for _, passedOn := range []string{"Forwarded", "X-Forwarded-For", "X-Real-Ip", "Via"} {
		if r.Header.Get(passedOn) != "" {
			return false
		}
	}
	return addressOf(r).IsLoopback()
}
