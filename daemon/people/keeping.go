package people

import (
	"cmp"
	"context"
	"maps"
	"slices"
	"strings"

	"wetside/dashboard/people"
	"wetside/rules/access"
	"wetside/sensors/quantity/phrase"
)

// keeping is what a keeper does about people, at a running daemon and on the command line alike.
type keeping struct {
	// change has the register changed for whoever asks.
	change func(ctx context.Context, f func(*register, By) error) error
}

// keyed is a change that gives a code or a key.
func (k keeping) keyed(ctx context.Context, f func(*register, By) (string, error)) (key string, err error) {
	err = k.change(ctx, func(reg *register, by By) (err error) {
		key, err = f(reg, by)
		return err
	})
	return key, err
}

// Invite gives the code with which a new person may join; see [people.Accounts].
func (k keeping) Invite(ctx context.Context, p access.Person) (code string, err error) {
	return k.keyed(ctx, func(reg *register, by By) (string, error) { return reg.invite(p, by) })
}

// Reset gives the code with which somebody chooses another password; see [people.Accounts].
func (k keeping) Reset(ctx context.Context, name string) (code string, err error) {
	return k.keyed(ctx, func(reg *register, by By) (string, error) { return reg.reset(name, by) })
}

// ChangeRole gives somebody another role; see [people.Accounts].
func (k keeping) ChangeRole(ctx context.Context, p access.Person) error {
	return k.change(ctx, func(reg *register, by By) error { return reg.change(p.Name, p.Role, by) })
}

// ShowSites lets somebody see other sites of the centre; see [people.Accounts].
func (k keeping) ShowSites(ctx context.Context, p access.Person) error {
	return k.change(ctx, func(reg *register, by By) error { return reg.showSites(p.Name, p.Sites, by) })
}

// Revoke takes an account, an invitation or a token away; see [people.Accounts].
func (k keeping) Revoke(ctx context.Context, name string) error {
	return k.change(ctx, func(reg *register, by By) error { return reg.revoke(name, by) })
}

// LetInAgain lets somebody in again whose access a keeper took away; see [people.Accounts].
func (k keeping) LetInAgain(ctx context.Context, name string) error {
	return k.change(ctx, func(reg *register, by By) error { return reg.bar(name, false, by) })
}

// RevokeToken takes a token away at once; see [people.Accounts].
func (k keeping) RevokeToken(ctx context.Context, name string) error {
	return k.change(ctx, func(reg *register, by By) error { return reg.revokeToken(name, by) })
}

// DropSecondStep takes the second step of somebody who lost the phone away; see [people.Accounts].
func (k keeping) DropSecondStep(ctx context.Context, name string) error {
	return k.change(ctx, func(reg *register, by By) error { return reg.dropSecondStep(name, by) })
}

// by is who asks, from the context of a request.
func (r *Roster) by(ctx context.Context) By {
	who, _ := access.From(ctx)
	return By{Name: who.Name, Role: who.Role, At: r.options.Clock.Now().Wall}
}

// MakeToken gives the key of a new token, which changes nothing; see [people.Accounts].
func (r *Roster) MakeToken(ctx context.Context, name, scope string) (key string, err error) {
	purpose, err := parsePurpose(scope)
	if err == nil && !purpose.readsOnly() {
		err = phrase.Errorf("a token with which a program may change something is made on the command line: wetside people token")
	}
	if err != nil {
		return "", err
	}
	return r.keyed(ctx, func(reg *register, by By) (string, error) { return reg.makeToken(name, purpose, by) })
}

// Scopes are the purposes of a token with which nothing is changed; see [people.Accounts].
func (r *Roster) Scopes() []people.Scope {
	var list []people.Scope
	for _, p := range Purposes() {
		if p.readsOnly() {
			list = append(list, people.Scope{Name: string(p), Label: p.Label()})
		}
	}
	return list
}

// People lists who may sign in, by name; see [people.Accounts].
func (r *Roster) People() []people.Member {
	r.mu.Lock()
	defer r.mu.Unlock()
	list := r.register.members(r.sessions)
	known := func(a, b *guest) int { return cmp.Compare(a.known, b.known) }
	for _, g := range slices.SortedFunc(maps.Values(r.guests), known) { // what the house said last counts
		at := slices.IndexFunc(list, func(m people.Member) bool { return m.House && m.Name == g.name })
		if at >= 0 && list[at].Joined {
			list[at].Role, list[at].Sites, list[at].Sessions = g.Role, g.Sites, list[at].Sessions+1
		}
	}
	return slices.DeleteFunc(list, func(m people.Member) bool { return m.House && m.Joined && m.Sessions == 0 })
}

// members lists accounts, open invitations and tokens.
func (r *register) members(lasting sessions) []people.Member {
	var list []people.Member
	for _, a := range r.Accounts {
		m := people.Member{Name: a.Name, Role: a.Role, Sites: a.Sites, Since: a.Since, Joined: a.Password != "", PIN: a.PIN != "",
			SecondStep: a.SecondStep != nil}
		for _, s := range lasting {
			if s.Account == a.ID && s.Epoch == a.Epoch {
				m.Sessions++
			}
		}
		list = append(list, m)
	}
	for _, i := range r.Invitations {
		if i.Account == "" {
			list = append(list, people.Member{Name: i.Name, Role: i.Role, Sites: i.Sites, Since: i.Until.Add(-invitationFor)})
		}
	}
	for _, h := range r.House {
		list = append(list, people.Member{Name: h.Name, Since: h.Since, House: true, Joined: !h.Barred})
	}
	for _, t := range r.Tokens {
		list = append(list, people.Member{Name: t.Name, Since: t.Since, Joined: true, Script: t.For.Label()})
	}
	slices.SortFunc(list, func(a, b people.Member) int { return strings.Compare(folded(a.Name), folded(b.Name)) })
	return list
}

// Quick are the people who chose a PIN; see [people.Accounts].
func (r *Roster) Quick() []string {
	r.mu.Lock()
	defer r.mu.Unlock()
	var names []string
	for _, a := range r.register.Accounts {
		if a.PIN != "" {
			names = append(names, a.Name)
		}
	}
	slices.Sort(names)
	return names
}

// Desk changes the file of people from the command line, whether or not a daemon
// runs. A daemon that runs takes over the change within seconds, and records it.
type Desk struct {
	keeping
	dir string
}

// NewDesk works on the people of a data folder.
func NewDesk(dir string, by By) Desk {
	return Desk{dir: dir, keeping: keeping{func(_ context.Context, f func(*register, By) error) error {
		_, err := change(dir, func(r *register) error { return f(r, by) })
		return err
	}}}
}

// List gives who may sign in.
func (d Desk) List() ([]people.Member, error) {
	r, err := load(d.dir)
	if err != nil {
		return nil, err
	}
	return r.members(nil), nil
}

// MakeToken gives the key of a new token.
func (d Desk) MakeToken(ctx context.Context, name string, purpose Purpose) (key string, err error) {
	return d.keyed(ctx, func(r *register, by By) (string, error) { return r.makeToken(name, purpose, by) })
}
