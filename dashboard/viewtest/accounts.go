package viewtest

import (
	"context"
	"net/netip"
	"sync"
	"testing"
	"time"

	"github.com/stretchr/testify/require"
	"go.uber.org/zap"

	"wetside/daemon/history"
	"wetside/daemon/people"
	page "wetside/dashboard/people"
	"wetside/dashboard/web"
	"wetside/rules/access"
	"wetside/sensors/clocktest"
)

// Accounts is the real register of people, in a folder of its own. Nobody needs to sign in: whoever
// shows the name of a role or of a member as session or token is let in as such.
type Accounts struct {
	*people.Roster
	Clock *clocktest.Manual
	// Code is that of the newest invitation.
	Code string
	t    testing.TB
	mu   sync.Mutex
	keys map[string]string // of the sessions of members, by name
}

var _ page.Accounts = (*Accounts)(nil)

// What opens the door beside the names: a token for the metrics and one for programs, one password and one PIN for everybody.
const (
	MeterToken   = "meter"
	ProgramToken = "program"
	Password     = "four invented words here"
	PIN          = "2580"
)

// NewAccounts has a keeper, Kim, a volunteer, Vera, and a script.
func NewAccounts(t testing.TB) *Accounts {
	t.Helper()
	d := &Accounts{Clock: clocktest.New(Evening()), t: t, keys: map[string]string{}}
	var err error
	d.Roster, err = people.Open(people.Options{Dir: t.TempDir(), Book: unread{}, Clock: d.Clock, Log: zap.NewNop(),
		Lasting: 100 * 365 * 24 * time.Hour, // a browser takes its cookies away by its own clock
		Cost:    people.Cost{Memory: 64, Time: 1, Lanes: 1}})
	require.NoError(t, err)
	for _, p := range []struct {
		access.Person
		pin string
	}{{access.Person{Name: "Kim", Role: access.Keeper}, ""}, {access.Person{Name: "Vera", Role: access.Volunteer}, PIN}} {
		code, err := d.Roster.Invite(t.Context(), p.Person)
		require.NoError(t, err)
		require.NoError(t, d.Join(t.Context(), page.Joining{Code: code, Password: Password, Again: Password, PIN: p.pin}))
	}
	_, err = d.MakeToken(t.Context(), "Script of the wall", string(people.ForReading))
	require.NoError(t, err)
	return d
}

// unread is a record book that nobody reads.
type unread struct{}

func (unread) Record(context.Context, history.Entry) (history.Record, error) {
	return history.Record{}, nil
}

// Known gives Ida in the role that is shown, a member, or a script that reads.
func (d *Accounts) Known(k web.Key) (access.Person, bool) {
	if k.Token == string(access.Reader) {
		return access.Person{Name: "Invented script", Role: access.Reader}, true
	}
	for _, shown := range []string{k.Session, k.Token} {
		if role, err := access.ParseRole(shown); err == nil {
			return access.Person{Name: "Ida", Role: role, Sites: access.AllSites}, true
		}
	}
	return d.Roster.Known(d.signedIn(k))
}

// signedIn takes the name of a member for a session of that member.
func (d *Accounts) signedIn(k web.Key) web.Key {
	if k.Session != "Kim" && k.Session != "Vera" {
		return k
	}
	d.mu.Lock()
	defer d.mu.Unlock()
	if d.keys[k.Session] == "" {
		in, err := d.SignIn(context.Background(), page.SignIn{Name: k.Session, Password: Password, From: netip.IPv6Loopback(), Here: true})
		require.NoError(d.t, err)
		d.keys[k.Session] = in.Key
	}
	return web.Key{Session: d.keys[k.Session], Here: true}
}

// Measures knows one token, and ReadsPrograms another.
func (d *Accounts) Measures(token string) bool { return token == MeterToken }

// ReadsPrograms knows one token.
func (d *Accounts) ReadsPrograms(token string) bool { return token == ProgramToken }

// SecondStepOf is that of whoever is signed in by name.
func (d *Accounts) SecondStepOf(k web.Key) (page.SecondStanding, bool) {
	return d.Roster.SecondStepOf(d.signedIn(k))
}

// Invite keeps the code at hand.
func (d *Accounts) Invite(ctx context.Context, p access.Person) (code string, err error) {
	d.Code, err = d.Roster.Invite(ctx, p)
	return d.Code, err
}
