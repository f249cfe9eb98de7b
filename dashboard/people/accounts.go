package people

import (
	"context"
	"net/netip"
	"net/url"
	"time"

	"wetside/dashboard/web"
	"wetside/rules/access"
)

// Accounts knows the people who sign in, and the scripts that have a token. Each error
// is one sentence for the person who asked and holds no secret.
type Accounts interface {
	web.Accounts
	// SignIn begins a session.
	SignIn(ctx context.Context, try SignIn) (Login, error)
	// SecondStep goes on with a sign-in that waits for a code; where the code is wrong, what is
	// given back says what to ask for again.
	SecondStep(ctx context.Context, try CodeTry) (Login, error)
	// SecondStepOf says how whoever has a session stands with the second step; false for others.
	SecondStepOf(k web.Key) (SecondStanding, bool)
	// DropSecondStep takes the second step of somebody who lost the phone away.
	DropSecondStep(ctx context.Context, name string) error
	// BeginHouse gives the address at which the house asks who somebody is.
	BeginHouse(next string, here bool) (Away, error)
	// FinishHouse lets somebody in whom the house sent back; next is where they wanted to go.
	FinishHouse(ctx context.Context, back Back) (in Login, next string, err error)
	// EndHouse ends the sessions that a logout token of the house is about.
	EndHouse(ctx context.Context, token string) error
	// LetInAgain lets somebody whom the house knows in again.
	LetInAgain(ctx context.Context, name string) error
	// SignOut ends the session of a key.
	SignOut(ctx context.Context, k web.Key)
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
	// ShowSites lets somebody see other sites of the centre.
	ShowSites(ctx context.Context, p access.Person) error
	// Revoke takes an account, an invitation or a token away at once.
	Revoke(ctx context.Context, name string) error
	// Scopes are what a token may be made for here: none of them changes anything.
	Scopes() []Scope
	// MakeToken gives a new token, which is kept as a hash alone.
	MakeToken(ctx context.Context, name, scope string) (key string, err error)
	// RevokeToken takes a token away at once, and no account.
	RevokeToken(ctx context.Context, name string) error
}

// Scope is what a token opens.
type Scope struct{ Name, Label string }

// SignIn is a try to sign in, with a password or, on the lab computer, with a PIN.
type SignIn struct {
	Name, Password, PIN string
	From                netip.Addr
	Here                bool
	// NewApp asks for the key of a new app at the end.
	NewApp bool
}

// Login is what a browser keeps of a sign-in, or shows to go on with it.
type Login struct {
	Key   string
	Until time.Time
	// Ticket is set where a code is asked for first; it goes along with the code.
	Ticket string
	// New is for an app that shows codes from now on; nil where the account has one.
	New *NewApp
	// Recovery are codes for a lost phone, shown this once.
	Recovery []string
}

// NewApp is what an app on a phone needs to show the codes of an account.
type NewApp struct{ Name, Key string }

// CodeTry goes on with a sign-in.
type CodeTry struct {
	Ticket, Code string
	From         netip.Addr
	Here         bool
}

// Away is a browser that goes to the house and is to come back with the ticket.
type Away struct {
	Address, Ticket string
	Until           time.Time
}

// Back is a browser that came back from the house, with what the house wrote into the address.
type Back struct {
	Ticket string
	Answer url.Values
	From   netip.Addr
}

// SecondStanding is how somebody stands with the second step.
type SecondStanding struct {
	Since    time.Time // zero where there is none
	Left     int       // codes for a lost phone
	Demanded bool
}

// Joining takes up an invitation with a password, typed twice, and perhaps a PIN.
type Joining struct{ Code, Password, Again, PIN string }

// Member is somebody on the list of people.
type Member struct {
	Name  string
	Role  access.Role
	Sites access.Sites // of a centre
	Since time.Time
	// Joined is false while an invitation waits.
	Joined, PIN bool
	// SecondStep is set for whoever gives a code at sign-in.
	SecondStep bool
	// House is set for somebody whom the house knows; one whose access was taken away has not joined.
	House    bool
	Sessions int
	// Script says what the token of a script may do; empty for a person.
	Script string
}
