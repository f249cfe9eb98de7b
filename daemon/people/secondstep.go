package people

import (
	"context"
	"errors"
	"maps"
	"time"
	"unicode/utf8"

	"go.uber.org/zap"

	"wetside/dashboard/people"
	"wetside/dashboard/web"
	"wetside/rules/access"
	"wetside/sensors/quantity/phrase"
)

const (
	// ticketFor is how long somebody has for the second step once the password was right.
	ticketFor = 10 * time.Minute
	// mostTickets bounds how many sign-ins wait for their second step, and how many for the house.
	mostTickets = 1000
)

// ticket is a sign-in whose password was right and whose second step is still to come.
type ticket struct {
	account account
	try     people.SignIn
	keys    triedKeys
	until   time.Time
	// key is for an app that shows codes from now on; empty where the account's own is asked.
	key string
}

// atMost is the most that somebody may do who should have given a code and did not, as by a
// PIN: what an evening at the trays takes.
const atMost = access.Instructor

// demanded says whether a second step is asked of an account.
func (r *Roster) demanded(a account) bool {
	return a.SecondStep != nil || r.options.SecondStep != "" && a.Role.Covers(r.options.SecondStep)
}

func (r *Roster) roleIn(s session, a account) access.Role {
	if !s.Code && r.demanded(a) && a.Role.Covers(atMost) {
		return atMost
	}
	return a.Role
}

// waitsForCode says whether a right password is not enough, and what is asked for then.
func (r *Roster) waitsForCode(a account, try people.SignIn, keys triedKeys) (in people.Login, waits bool) {
	r.mu.Lock()
	defer r.mu.Unlock()
	if try.PIN != "" || !try.NewApp && !r.demanded(a) {
		return people.Login{}, false
	}
	r.tries.forget(keys)
	t := ticket{account: a, try: try, keys: keys}
	if a.SecondStep == nil {
		t.key = newAppKey()
	}
	return r.halfWay(t), true
}

// halfWay lets a sign-in wait for its second step.
func (r *Roster) halfWay(t ticket) people.Login {
	now := r.options.Clock.Now().Wall
	makeRoom(r.tickets, func(t ticket) bool { return !now.Before(t.until) })
	key, kept := newKey()
	t.until, t.try.Password = now.Add(ticketFor), ""
	r.tickets[kept] = t
	return t.login(key)
}

// makeRoom forgets sign-ins that waited too long, and any others where too many wait.
func makeRoom[Waiting any](all map[string]Waiting, tooLong func(Waiting) bool) {
	maps.DeleteFunc(all, func(_ string, one Waiting) bool { return tooLong(one) })
	for kept := range all {
		if len(all) < mostTickets {
			return
		}
		delete(all, kept)
	}
}

// login is what the page of the second step needs.
func (t ticket) login(key string) people.Login {
	in := people.Login{Ticket: key}
	if t.key != "" {
		in.New = &people.NewApp{Name: t.account.Name, Key: t.key}
	}
	return in
}

var (
	errTicket = phrase.Errorf("this took too long, or the account was changed meanwhile: sign in again from the start")
	errCodeNo = phrase.Errorf("that code is not valid: type the one that the app shows now, or wait for the next. Each code works once, " +
		"and the clock of the phone must be right")
)

// SecondStep goes on with a sign-in by a code; see [people.Accounts].
func (r *Roster) SecondStep(ctx context.Context, try people.CodeTry) (people.Login, error) {
	in, err := r.useCode(ctx, try)
	r.tell(ctx)
	return in, err
}

func (r *Roster) useCode(ctx context.Context, try people.CodeTry) (people.Login, error) {
	r.mu.Lock()
	t, known := r.tickets[keyHash(try.Ticket)]
	now := r.options.Clock.Now()
	a := r.register.byID(t.account.ID)
	if !known || a == nil || a.Epoch != t.account.Epoch || !now.Wall.Before(t.until) {
		r.mu.Unlock()
		return people.Login{}, errTicket
	}
	again := t.login(try.Ticket)
	keys := keysOf("codes of "+a.ID, people.SignIn{From: try.From, Here: try.Here})
	if wait := r.tries.wait(now.Mono, keys); wait > 0 {
		r.mu.Unlock()
		return again, phrase.Errorf("too many codes were wrong: wait %s and try again", inWords(wait))
	}
	r.tries.failed(now.Mono, keys)
	current := *a
	if a.SecondStep != nil {
		own := *a.SecondStep
		current.SecondStep = &own
	}
	r.mu.Unlock()
	code := tidyCode(try.Code)
	if utf8.RuneCountInString(code) > longestPassword {
		code = ""
	}
	with, recovery, err := r.counts(ctx, current, t, code)
	if err != nil {
		r.failed(current, try.From)
		return again, err
	}
	return r.pass(try.Ticket, t, keys, with, recovery)
}

// counts says by what a code counts, and uses it up.
func (r *Roster) counts(ctx context.Context, a account, t ticket, code string) (with string, recovery []string, err error) {
	now := r.options.Clock.Now().Wall
	switch {
	case t.key != "":
		recovery, err = r.setUp(ctx, a, t.key, code)
		return "password and code", recovery, err
	case a.SecondStep == nil: // taken away meanwhile
		return "", nil, errTicket
	}
	if step, right := a.SecondStep.stepOf(code, now); right {
		return "password and code", nil, r.useStep(a.ID, step)
	}
	if len(code) != recoveryLength {
		return "", nil, errCodeNo
	}
	err = r.change(ctx, func(reg *register) error {
		own := reg.byID(a.ID)
		if own == nil || own.SecondStep == nil || !own.SecondStep.useRecovery(code) {
			return errCodeNo
		}
		return nil
	})
	return "password and recovery code", nil, err
}

// useStep lets the code of a step, and those before it, count no more. With a full disk people
// must still get at the alarms: then it is kept until the next start.
func (r *Roster) useStep(id string, step int64) error {
	r.mu.Lock()
	defer r.mu.Unlock()
	use := func(reg *register) error {
		a := reg.byID(id)
		if a == nil || a.SecondStep == nil || a.SecondStep.Last >= step {
			return errCodeNo
		}
		a.SecondStep.Last = step
		return nil
	}
	if err := use(r.register); err != nil {
		return err
	}
	fresh, err := change(r.options.Dir, use)
	switch {
	case errors.Is(err, errCodeNo):
		return err
	case err != nil:
		r.options.Log.Warn("a code that was used is not kept over a restart", zap.Error(err))
	default:
		r.register, r.read = fresh, markOf(r.options.Dir)
	}
	return nil
}

// setUp gives an account its second step, once a code of the app shows that it has the key.
func (r *Roster) setUp(ctx context.Context, a account, key, code string) (recovery []string, err error) {
	now := r.options.Clock.Now().Wall
	s := &secondStep{Key: key, Since: now}
	step, right := s.stepOf(code, now)
	if !right {
		return nil, errCodeNo
	}
	s.Last = step
	recovery, s.Recovery = newRecovery()
	return recovery, r.change(ctx, func(reg *register) error {
		own := reg.byID(a.ID)
		if own == nil || own.Epoch != a.Epoch || own.SecondStep != nil && own.SecondStep.Key == key {
			return errTicket
		}
		own.SecondStep = s
		reg.note(KindSecondSetUp, By{own.Name, own.Role, now}, content{Name: own.Name})
		return nil
	})
}

// pass ends the second step: with a session, or with the key of a new app where the sign-in
// was for that.
func (r *Roster) pass(key string, t ticket, keys triedKeys, with string, recovery []string) (people.Login, error) {
	r.mu.Lock()
	_, there := r.tickets[keyHash(key)]
	delete(r.tickets, keyHash(key))
	r.tries.forget(keys)
	if there && t.try.NewApp && t.key == "" {
		t.key = newAppKey()
		defer r.mu.Unlock()
		return r.halfWay(t), nil
	}
	r.mu.Unlock()
	if !there {
		return people.Login{}, errTicket
	}
	in, err := r.enter(t.account, t.try, t.keys, with)
	in.Recovery = recovery
	return in, err
}

// SecondStepOf says how somebody stands with the second step; see [people.Accounts].
func (r *Roster) SecondStepOf(k web.Key) (people.SecondStanding, bool) {
	r.mu.Lock()
	defer r.mu.Unlock()
	_, a := r.holder(k)
	if a == nil || k.Token != "" {
		return people.SecondStanding{}, false
	}
	s := people.SecondStanding{Demanded: r.options.SecondStep != "" && a.Role.Covers(r.options.SecondStep)}
	if a.SecondStep != nil {
		s.Since, s.Left = a.SecondStep.Since, len(a.SecondStep.Recovery)
	}
	return s, true
}

// dropSecondStep takes the second step of an account away, and ends its sessions.
func (r *register) dropSecondStep(name string, by By) error {
	a := r.find(name)
	switch {
	case a == nil:
		return errUnknown
	case a.SecondStep == nil:
		return phrase.Errorf("%s signs in without a code: there is nothing to remove", a.Name)
	}
	a.SecondStep = nil
	a.Epoch++
	r.note(KindSecondDropped, by, content{Name: a.Name})
	return nil
}
