package people

import (
	"context"
	"errors"
	"fmt"
	"maps"
	"slices"
	"time"

	"go.uber.org/zap"

	"wetside/daemon/house"
	"wetside/dashboard/people"
	"wetside/dashboard/web"
	"wetside/rules/access"
	"wetside/sensors"
	"wetside/sensors/quantity/phrase"
)

// guest is a browser in which somebody signed in by the house. It is kept in memory alone, as
// the key with which the house is asked again can't be kept as a hash: after a restart people
// press the button once more.
type guest struct {
	house.Visitor
	name  string // as it is recorded
	until time.Time
	// known is when the house answered for the person last, next when it is asked again.
	known, next time.Duration
}

// houseName keeps the name under which somebody whom the house knows is recorded, so that no two
// people share one.
type houseName struct {
	Subject string    `json:"subject"`
	Given   string    `json:"given"` // by the house
	Name    string    `json:"name"`
	Since   time.Time `json:"since"`
	// Barred is set for whom a keeper lets in no more, whatever the house says.
	Barred bool `json:"barred,omitempty"`
}

// leaving is a sign-in that is on its way at the house.
type leaving struct {
	begun house.Begun
	next  string
	until time.Time
}

// errNoHouse is the answer where no house is asked.
var errNoHouse = phrase.Errorf("nobody signs in by another service here: use your name and password")

// House is what the button of the sign-in by the house says; see [people.Accounts].
func (r *Roster) House() string {
	if r.options.House == nil {
		return ""
	}
	return r.options.House.Name
}

// BeginHouse gives the address at which the house asks who somebody is; see [people.Accounts].
func (r *Roster) BeginHouse(next string, here bool) (people.Away, error) {
	if r.options.House == nil {
		return people.Away{}, errNoHouse
	}
	address, begun, err := r.options.House.Begin(here)
	if err != nil {
		return people.Away{}, r.unanswered(err)
	}
	key, kept := newKey()
	r.mu.Lock()
	defer r.mu.Unlock()
	now := r.options.Clock.Now().Wall
	makeRoom(r.leaving, func(l leaving) bool { return !now.Before(l.until) })
	r.leaving[kept] = leaving{begun, next, now.Add(ticketFor)}
	return people.Away{Address: address, Ticket: key, Until: now.Add(ticketFor)}, nil
}

// unanswered is the sentence for somebody whom the house can't be asked about.
func (r *Roster) unanswered(err error) error {
	r.options.Log.Warn("the house could not say who somebody is", zap.Error(err))
	if missing := new(house.Unanswered); errors.As(err, missing) {
		return phrase.Errorf("%s does not answer: try again in a minute, or use an account of this place", r.options.House.Name)
	}
	return err
}

// FinishHouse lets somebody in whom the house knows; see [people.Accounts].
func (r *Roster) FinishHouse(ctx context.Context, back people.Back) (people.Login, string, error) {
	if r.options.House == nil {
		return people.Login{}, "", errNoHouse
	}
	r.mu.Lock()
	l, known := r.leaving[keyHash(back.Ticket)]
	delete(r.leaving, keyHash(back.Ticket))
	if known && !r.options.Clock.Now().Wall.Before(l.until) {
		l.begun = house.Begun{}
	}
	r.mu.Unlock()
	v, err := r.options.House.Finish(ctx, l.begun, back.Answer)
	if err != nil {
		return people.Login{}, l.next, r.unanswered(err)
	}
	name, err := r.nameOf(ctx, v)
	if err != nil {
		return people.Login{}, l.next, err
	}
	r.mu.Lock()
	in := r.letIn(v, name)
	r.later(KindSignedIn, access.Person{Name: name, Role: v.Role}, content{From: place(back.From), With: r.options.House.Name})
	r.mu.Unlock()
	r.tell(ctx)
	return in, l.next, nil
}

// letIn begins the session of somebody whom the house knows.
func (r *Roster) letIn(v house.Visitor, name string) people.Login {
	now := r.options.Clock.Now()
	g := &guest{Visitor: v, name: name, until: now.Wall.Add(r.options.Lasting), known: now.Mono, next: now.Mono + r.options.House.Every}
	if !v.Until.IsZero() && v.Until.Before(g.until) {
		g.until = v.Until
	}
	var mine []string
	for key, other := range r.guests {
		if other.Subject == v.Subject {
			mine = append(mine, key)
		}
	}
	slices.SortFunc(mine, func(a, b string) int { return r.guests[a].until.Compare(r.guests[b].until) })
	for ; len(mine) >= mostSessions; mine = mine[1:] {
		delete(r.guests, mine[0])
	}
	key, kept := newKey()
	r.guests[kept] = g
	return people.Login{Key: key, Until: g.until}
}

// nameOf gives the name under which somebody is recorded.
func (r *Roster) nameOf(ctx context.Context, v house.Visitor) (name string, err error) {
	given, err := tidyName(v.Name)
	if err != nil {
		return "", err
	}
	r.mu.Lock()
	h := r.register.bySubject(v.Subject)
	settled := h != nil && (h.Given == given || h.Barred)
	if settled {
		name = h.Name
		if h.Barred {
			err = phrase.Errorf("a keeper took your access away: ask a keeper")
		}
	}
	r.mu.Unlock()
	if settled {
		return name, err
	}
	err = r.change(ctx, func(reg *register) error {
		name = reg.name(v.Subject, given, r.options.House.Name, r.options.Clock.Now().Wall)
		return nil
	})
	return name, err
}

func (r *register) bySubject(subject string) *houseName {
	return only(r.House, func(h houseName) bool { return h.Subject == subject })
}

// name keeps a name for somebody whom the house knows: the given one, or one that tells them
// from whoever has it already.
func (r *register) name(subject, given, of string, now time.Time) string {
	r.House = slices.DeleteFunc(r.House, func(h houseName) bool { return h.Subject == subject })
	name := given
	for i := 1; r.taken(name); i++ {
		if name = fmt.Sprintf("%s (%s)", given, of); i > 1 {
			name = fmt.Sprintf("%s (%s %d)", given, of, i)
		}
	}
	r.House = append(r.House, houseName{Subject: subject, Given: given, Name: name, Since: now})
	return name
}

// taken says whether somebody or something has a name.
func (r *register) taken(name string) bool {
	same := func(other string) bool { return folded(other) == folded(name) }
	return r.find(name) != nil || slices.ContainsFunc(r.House, func(h houseName) bool { return same(h.Name) }) ||
		slices.ContainsFunc(r.Tokens, func(t token) bool { return same(t.Name) }) ||
		slices.ContainsFunc(r.Invitations, func(i invitation) bool { return same(i.Name) })
}

// bar lets somebody in no more whom the house knows, or in again.
func (r *register) bar(name string, barred bool, by By) error {
	h := only(r.House, func(h houseName) bool { return folded(h.Name) == folded(name) && h.Barred != barred })
	if h == nil {
		return errUnknown
	}
	h.Barred = barred
	kind := KindRevoked
	if !barred {
		kind = KindLetInAgain
	}
	r.note(kind, by, content{Name: h.Name})
	return nil
}

// guestOf gives the person of a session that the house began. While the house does not answer
// it lasts for a while, so that an evening at the trays goes on.
func (r *Roster) guestOf(k web.Key) *guest {
	g := r.guests[keyHash(k.Session)]
	if k.Session == "" || g == nil {
		return nil
	}
	now, h := r.options.Clock.Now(), r.register.bySubject(g.Subject)
	if h == nil || h.Barred || !now.Wall.Before(g.until) || now.Mono-g.known >= r.options.House.Bridge {
		return nil
	}
	return g
}

// EndHouse ends sessions of somebody who signed out at the house, or left it; see [people.Accounts].
func (r *Roster) EndHouse(ctx context.Context, token string) error {
	if r.options.House == nil {
		return errNoHouse
	}
	subject, session, err := r.options.House.SignedOut(ctx, token)
	if err != nil {
		r.options.Log.Warn("a sign-out that the identity provider reported is not valid", zap.Error(err))
		return err
	}
	r.mu.Lock()
	for key, g := range r.guests {
		if g.Ends(subject, session) {
			r.leaves(key)
		}
	}
	r.mu.Unlock()
	r.tell(ctx)
	return nil
}

// leaves ends a session that the house no longer stands for.
func (r *Roster) leaves(key string) {
	g := r.guests[key]
	delete(r.guests, key)
	r.later(KindSignedOut, access.Person{Name: g.name, Role: g.Role}, content{With: r.options.House.Name})
}

// askHouse asks the house about everybody who is signed in by it, until ctx ends.
func (r *Roster) askHouse(ctx context.Context) {
	defer r.options.House.Close()
	for ctx.Err() == nil {
		for _, key := range r.due() {
			if !r.askOf(ctx, key) {
				break
			}
		}
		r.tell(ctx)
		sensors.Pause(ctx, r.options.Clock, look)
	}
}

// due gives the sessions of which the house is to be asked, and forgets those that are over.
func (r *Roster) due() (keys []string) {
	r.mu.Lock()
	defer r.mu.Unlock()
	now := r.options.Clock.Now()
	maps.DeleteFunc(r.guests, func(_ string, g *guest) bool {
		return !now.Wall.Before(g.until) || now.Mono-g.known >= r.options.House.Bridge
	})
	for key, g := range r.guests {
		if now.Mono >= g.next {
			keys = append(keys, key)
		}
	}
	return keys
}

// askOf asks the house about one session; false where it does not answer.
func (r *Roster) askOf(ctx context.Context, key string) (answered bool) {
	r.mu.Lock()
	g := r.guests[key]
	if g == nil {
		r.mu.Unlock()
		return true
	}
	v := g.Visitor
	r.mu.Unlock()
	v, err := r.options.House.Ask(ctx, v)
	if ctx.Err() != nil {
		return false
	}
	name := g.name
	if err == nil {
		name, err = r.nameOf(ctx, v)
	}
	r.mu.Lock()
	defer r.mu.Unlock()
	if r.guests[key] != g { // signed out meanwhile
		return true
	}
	now := r.options.Clock.Now().Mono
	g.next = now + r.options.House.Every
	missing := new(house.Unanswered)
	switch {
	case err == nil:
		g.Visitor, g.name, g.known = v, name, now
		if !v.Until.IsZero() && v.Until.Before(g.until) {
			g.until = v.Until
		}
	case errors.As(err, missing):
		g.Visitor = v // perhaps with another token to ask with
		g.next = now + min(r.options.House.Every, unansweredFor)
		r.options.Log.Warn("the house does not answer for who is signed in", zap.Error(err))
		return false
	default:
		r.options.Log.Info("the identity provider ended an access", zap.Error(err))
		r.leaves(key)
	}
	return true
}

// unansweredFor is how long a house that does not answer is left alone.
const unansweredFor = 30 * time.Second
