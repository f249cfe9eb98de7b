package viewtest

import (
	"context"
	"sync"
	"time"

	"wetside/dashboard/people"
	"wetside/dashboard/web"
	"wetside/rules/access"
	"wetside/sensors/quantity/phrase"
)

// Door is an invented door. Whoever shows the name of a role as session or token
// is let in with that role.
type Door struct {
	mu      sync.Mutex
	members []people.Member
}

var _ people.Accounts = (*Door)(nil)

// What opens the invented door: one token for the metrics, one password and one PIN
// for everybody, and one invitation.
const (
	MeterToken   = "meter"
	ProgramToken = "program"
	Password     = "four invented words here"
	PIN          = "2580"
	Invitation   = "ABCD-EFGH"
	AppCode      = "271828"
)

var errDoor = phrase.Errorf("the name and the password, or the PIN, do not belong together: try again")

// NewDoor has a keeper, Kim, and a volunteer, Vera, and nobody is signed in.
func NewDoor() *Door {
	return &Door{members: []people.Member{
		{Name: "Kim", Role: access.Keeper, Since: Evening(), Joined: true},
		{Name: "Vera", Role: access.Volunteer, Since: Evening(), Joined: true, PIN: true},
		{Name: "Script of the wall", Since: Evening(), Joined: true, Script: "reads the pages and changes nothing"},
	}}
}

// Known gives Ida in the role that is shown, a member, or a script that reads.
func (d *Door) Known(k web.Key) (access.Person, bool) {
	if k.Token == string(access.Reader) {
		return access.Person{Name: "Invented script", Role: access.Reader}, true
	}
	if role, err := access.ParseRole(k.Session + k.Token); err == nil {
		return access.Person{Name: "Ida", Role: role, Sites: access.AllSites}, true
	}
	for _, m := range d.People() {
		if m.Name == k.Session {
			return access.Person{Name: m.Name, Role: m.Role, Sites: m.Sites}, true
		}
	}
	return access.Person{}, false
}

// Measures knows one token.
func (d *Door) Measures(token string) bool { return token == MeterToken }

// ReadsPrograms knows one token.
func (d *Door) ReadsPrograms(token string) bool { return token == ProgramToken }

// Scopes are two of the real ones.
func (d *Door) Scopes() []people.Scope {
	return []people.Scope{{Name: "programs", Label: "reads what is meant for programs"}, {Name: "metrics", Label: "opens the metrics alone"}}
}

// MakeToken gives the one token.
func (d *Door) MakeToken(_ context.Context, name, scope string) (string, error) {
	return ProgramToken, d.add(people.Member{Name: name, Joined: true, Script: scope})
}

// RevokeToken takes the token of a script away.
func (d *Door) RevokeToken(_ context.Context, name string) error {
	return d.change(name, func(m *people.Member) { *m = people.Member{Name: "nobody"} })
}

// SignIn lets a member in with the password or the PIN; the session is the name.
func (d *Door) SignIn(_ context.Context, try people.SignIn) (people.Login, error) {
	for _, m := range d.People() {
		if m.Name == try.Name && try.Password == Password && (m.SecondStep || try.NewApp) {
			in := people.Login{Ticket: m.Name}
			if !m.SecondStep {
				in.New = &people.NewApp{Name: m.Name, Key: "INVENTEDINVENTEDINVENTEDINVENTED"}
			}
			return in, nil
		}
		if m.Name == try.Name && (try.Password == Password || try.Here && m.PIN && try.PIN == PIN) {
			return people.Login{Key: m.Name, Until: time.Now().Add(time.Hour)}, nil
		}
	}
	return people.Login{}, errDoor
}

// SecondStep takes one code; the ticket is the name.
func (d *Door) SecondStep(_ context.Context, try people.CodeTry) (people.Login, error) {
	in := people.Login{Key: try.Ticket, Until: time.Now().Add(time.Hour)}
	var set bool
	err := d.change(try.Ticket, func(m *people.Member) {
		if set = try.Code == AppCode && !m.SecondStep; set {
			m.SecondStep = true
		}
	})
	switch {
	case err != nil:
		return people.Login{}, err
	case try.Code != AppCode:
		return people.Login{Ticket: try.Ticket}, errDoor
	case set:
		in.Recovery = []string{"INVE-NTED-CODE-AAAA", "INVE-NTED-CODE-BBBB"}
	}
	return in, nil
}

// SecondStepOf is that of the member.
func (d *Door) SecondStepOf(k web.Key) (people.SecondStanding, bool) {
	for _, m := range d.People() {
		if m.Name == k.Session && m.Script == "" {
			s := people.SecondStanding{}
			if m.SecondStep {
				s.Since, s.Left = Evening(), 2
			}
			return s, true
		}
	}
	return people.SecondStanding{}, false
}

// DropSecondStep lets a member sign in without a code.
func (d *Door) DropSecondStep(_ context.Context, name string) error {
	return d.change(name, func(m *people.Member) { m.SecondStep = false })
}

// House is an invented one.
func (d *Door) House() string { return "Invented College" }

// BeginHouse sends the browser back at once.
func (d *Door) BeginHouse(next string, _ bool) (people.Away, error) {
	return people.Away{Address: "/sign-in/house/back?code=invented", Ticket: next, Until: time.Now().Add(time.Hour)}, nil
}

// FinishHouse lets Vera in.
func (d *Door) FinishHouse(_ context.Context, back people.Back) (people.Login, string, error) {
	if back.Ticket == "" || back.Answer.Get("code") == "" {
		return people.Login{}, "/", errDoor
	}
	return people.Login{Key: "Vera", Until: time.Now().Add(time.Hour)}, back.Ticket, nil
}

// EndHouse believes no token.
func (d *Door) EndHouse(context.Context, string) error { return errDoor }

// LetInAgain knows nobody who was not.
func (d *Door) LetInAgain(context.Context, string) error { return errDoor }

// SignOut forgets nothing: the browser does.
func (d *Door) SignOut(context.Context, web.Key) {}

// Quick are the members with a PIN.
func (d *Door) Quick() []string {
	var names []string
	for _, m := range d.People() {
		if m.PIN {
			names = append(names, m.Name)
		}
	}
	return names
}

// Invited knows one invitation, for Nora.
func (d *Door) Invited(code string) (access.Person, error) {
	if code != Invitation {
		return access.Person{}, errDoor
	}
	return access.Person{Name: "Nora", Role: access.Instructor}, nil
}

// Join takes the one invitation.
func (d *Door) Join(_ context.Context, j people.Joining) error {
	who, err := d.Invited(j.Code)
	if err != nil || j.Password != j.Again {
		return errDoor
	}
	return d.add(people.Member{Name: who.Name, Role: who.Role, Joined: true, PIN: j.PIN != ""})
}

func (d *Door) add(m people.Member) error {
	d.mu.Lock()
	defer d.mu.Unlock()
	m.Since = Evening()
	d.members = append(d.members, m)
	return nil
}

// People are the members.
func (d *Door) People() []people.Member {
	d.mu.Lock()
	defer d.mu.Unlock()
	return append([]people.Member(nil), d.members...)
}

// Invite adds a member who has not joined.
func (d *Door) Invite(_ context.Context, p access.Person) (string, error) {
	return Invitation, d.add(people.Member{Name: p.Name, Role: p.Role, Sites: p.Sites})
}

// Reset gives the one code.
func (d *Door) Reset(_ context.Context, name string) (string, error) {
	return Invitation, d.change(name, func(m *people.Member) { m.Joined, m.PIN = false, false })
}

// ChangeRole changes a member.
func (d *Door) ChangeRole(_ context.Context, p access.Person) error {
	return d.change(p.Name, func(m *people.Member) { m.Role = p.Role })
}

// ShowSites changes a member.
func (d *Door) ShowSites(_ context.Context, p access.Person) error {
	return d.change(p.Name, func(m *people.Member) { m.Sites = p.Sites })
}

// Revoke leaves a member without a name, which nobody can show.
func (d *Door) Revoke(_ context.Context, name string) error {
	return d.change(name, func(m *people.Member) { *m = people.Member{Name: "nobody"} })
}

func (d *Door) change(name string, f func(*people.Member)) error {
	d.mu.Lock()
	defer d.mu.Unlock()
	for i := range d.members {
		if d.members[i].Name == name {
			f(&d.members[i])
			return nil
		}
	}
	return errDoor
}
