package people

import (
	"context"
	"fmt"
	"net/netip"
	"strings"
	"time"
	"unicode/utf8"

	"wetside/dashboard/people"
	"wetside/dashboard/web"
	"wetside/rules/access"
	"wetside/sensors/quantity/phrase"
)

const (
	shortestPassword = 12
	longestPassword  = 200
	shortestPIN      = 4
	longestPIN       = 8
	// hashWithin is how long somebody waits for the few hashes that are computed at a time.
	hashWithin = 8 * time.Second
)

var errWrong = phrase.Errorf("the name and the password, or the PIN, do not belong together: try again")

// SignIn begins a session; see [people.Accounts].
func (r *Roster) SignIn(ctx context.Context, try people.SignIn) (people.Login, error) {
	name, given := strings.TrimSpace(try.Name), try.Password
	account := fmt.Sprintf("account %s %t", folded(name), try.Here)
	if try.PIN != "" {
		given, account = try.PIN, "PIN of "+folded(name)
	}
	keys := keysOf(account, try)
	if utf8.RuneCountInString(name) > longestName || utf8.RuneCountInString(given) > longestPassword {
		return people.Login{}, errWrong
	}
	a, kept, err := r.begin(try, keys)
	if err != nil {
		return people.Login{}, err
	}
	ctx, cancel := context.WithTimeout(ctx, hashWithin)
	defer cancel()
	fits, err := r.hasher.fits(ctx, given, kept)
	if err != nil {
		return people.Login{}, err
	}
	if !fits {
		r.failed(a, try.From)
		r.tell(ctx)
		return people.Login{}, errWrong
	}
	if in, waits := r.waitsForCode(a, try, keys); waits {
		return in, nil
	}
	with := "password"
	if try.PIN != "" {
		with = "PIN"
	}
	s, err := r.enter(a, try, keys, with)
	if err == nil {
		r.tell(ctx)
	}
	return s, err
}

// begin counts a try, and gives the account and what the try is checked with.
func (r *Roster) begin(try people.SignIn, keys triedKeys) (account, string, error) {
	r.mu.Lock()
	defer r.mu.Unlock()
	if try.PIN != "" && !try.Here {
		return account{}, "", phrase.Errorf("a PIN counts on the lab computer alone: use your password here")
	}
	now := r.options.Clock.Now().Mono
	if wait := r.tries.wait(now, keys); wait > 0 {
		return account{}, "", phrase.Errorf("too many tries failed: wait %s and try again, or ask a keeper for another password", inWords(wait))
	}
	r.tries.failed(now, keys)
	a := r.register.find(try.Name)
	switch {
	case a == nil:
		return account{}, "", nil
	case try.PIN != "":
		return *a, a.PIN, nil
	}
	return *a, a.Password, nil
}

// inWords rounds a wait up to what a person reads.
func inWords(d time.Duration) phrase.Sentence {
	if d > time.Minute {
		return phrase.Say("%d minutes", int((d+time.Minute-1)/time.Minute))
	}
	return phrase.Say("%d s", int((d+time.Second-1)/time.Second))
}

// failed keeps a try that failed for the record book. A name that nobody has is not
// kept: people type passwords into the wrong field.
func (r *Roster) failed(a account, from netip.Addr) {
	r.mu.Lock()
	defer r.mu.Unlock()
	r.later(KindSignInFailed, access.Person{Name: a.Name, Role: a.Role}, content{From: place(from), Tries: 1})
}

// place is where somebody sits, as it is recorded.
func place(a netip.Addr) string {
	if a = a.Unmap(); a.IsLoopback() {
		return "this computer"
	}
	return a.WithZone("").String()
}

// enter begins the session of an account, unless it was revoked or reset meanwhile.
func (r *Roster) enter(a account, try people.SignIn, keys triedKeys, with string) (people.Login, error) {
	r.mu.Lock()
	defer r.mu.Unlock()
	r.tries.forget(keys)
	if now := r.register.byID(a.ID); now == nil || now.Epoch != a.Epoch {
		return people.Login{}, errWrong
	}
	until := r.options.Clock.Now().Wall.Add(r.options.Lasting)
	key := r.sessions.add(session{Account: a.ID, Epoch: a.Epoch, Until: until, Here: try.PIN != "", Code: strings.Contains(with, "code")})
	r.keepSessions()
	r.later(KindSignedIn, access.Person{Name: a.Name, Role: a.Role}, content{From: place(try.From), With: with})
	return people.Login{Key: key, Until: until}, nil
}

// SignOut ends a session; see [people.Accounts].
func (r *Roster) SignOut(ctx context.Context, k web.Key) {
	r.mu.Lock()
	if g := r.guestOf(k); g != nil {
		delete(r.guests, keyHash(k.Session))
		r.later(KindSignedOut, access.Person{Name: g.name, Role: g.Role}, content{})
	}
	if s, a := r.holder(k); a != nil {
		delete(r.sessions, s.Key)
		r.keepSessions()
		r.later(KindSignedOut, access.Person{Name: a.Name, Role: a.Role}, content{})
	}
	r.mu.Unlock()
	r.tell(ctx)
}

// Invited gives whom an invitation is for; see [people.Accounts].
func (r *Roster) Invited(code string) (access.Person, error) {
	r.mu.Lock()
	defer r.mu.Unlock()
	inv, err := r.register.invited(code, r.options.Clock.Now().Wall)
	return access.Person{Name: inv.Name, Role: inv.Role}, err
}

// Join takes up an invitation; see [people.Accounts].
func (r *Roster) Join(ctx context.Context, j people.Joining) error {
	who, err := r.Invited(j.Code)
	if err != nil {
		return err
	}
	if err := checkSecrets(who.Name, j); err != nil {
		return err
	}
	ctx, cancel := context.WithTimeout(ctx, hashWithin)
	defer cancel()
	var s secrets
	if s.password, err = r.hasher.keep(ctx, j.Password); err != nil {
		return err
	}
	if j.PIN != "" {
		if s.pin, err = r.hasher.keep(ctx, j.PIN); err != nil {
			return err
		}
	}
	return r.change(ctx, func(reg *register) error {
		_, err := reg.join(j.Code, s, r.options.Clock.Now().Wall)
		return err
	})
}

// checkSecrets says what is wrong with a password or PIN that somebody chose.
func checkSecrets(name string, j people.Joining) error {
	switch n := utf8.RuneCountInString(j.Password); {
	case n < shortestPassword || n > longestPassword:
		return phrase.Errorf("the password has %d characters: choose at least %d, such as four words that nobody else would put together", n,
			shortestPassword)
	case strings.Contains(folded(j.Password), folded(name)):
		return phrase.Errorf("the password contains your name: choose one that nobody would try first")
	case j.Password != j.Again:
		return phrase.Errorf("the two passwords differ: type the same one twice")
	case j.PIN == "":
		return nil
	case len(j.PIN) < shortestPIN || len(j.PIN) > longestPIN || strings.Trim(j.PIN, "0123456789") != "":
		return phrase.Errorf("a PIN is %d to %d digits: choose another, or leave it empty", shortestPIN, longestPIN)
	case strings.Count(j.PIN, j.PIN[:1]) == len(j.PIN) || strings.Contains("0123456789876543210", j.PIN):
		return phrase.Errorf("this PIN is too easy to guess: choose another, or leave it empty")
	}
	return nil
}
