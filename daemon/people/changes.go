package people

import (
	"crypto/rand"
	"slices"
	"strings"
	"time"

	"wetside/rules/access"
	"wetside/sensors/quantity/phrase"
)

func (r *register) invite(p access.Person, by By) (code string, err error) {
	role := p.Role
	name, err := tidyName(p.Name)
	if err != nil {
		return "", err
	}
	if _, err := access.ParseRole(string(role)); err != nil {
		return "", err
	}
	if r.find(name) != nil {
		return "", phrase.Say("%s has an account already: change its role, or reset its password", name).Err()
	}
	if slices.ContainsFunc(r.House, func(h houseName) bool { return folded(h.Name) == folded(name) }) {
		return "", phrase.Say("%s signs in without an account here: give the account a name that tells them apart", name).Err()
	}
	r.Invitations = slices.DeleteFunc(r.Invitations, func(i invitation) bool {
		return folded(i.Name) == folded(name) || !by.At.Before(i.Until)
	})
	code, kept := newCode()
	r.Invitations = append(r.Invitations, invitation{Code: kept, Name: name, Role: role, Sites: p.Sites, Until: by.At.Add(invitationFor)})
	r.note(KindInvited, by, content{Name: name, Role: role, Sites: p.Sites})
	return code, nil
}

// newCode is short enough to be typed from paper, and too long to be guessed: 26
// signs of five bits, in groups.
func newCode() (code, kept string) {
	text := rand.Text()
	kept = keyHash(text)
	return strings.Join([]string{text[:5], text[5:10], text[10:15], text[15:20], text[20:]}, "-"), kept
}

// tidyCode takes the blanks and hyphens out of a code that was typed.
func tidyCode(code string) string {
	return strings.ToUpper(strings.NewReplacer(" ", "", "-", "", "\t", "", "\r", "", "\n", "").Replace(code))
}

var errCode = phrase.Errorf("this invitation is not known, is used up, or is too old: ask for another")

func (r *register) invited(code string, now time.Time) (invitation, error) {
	kept := keyHash(tidyCode(code))
	at := slices.IndexFunc(r.Invitations, func(i invitation) bool { return i.Code == kept && now.Before(i.Until) })
	if at < 0 {
		return invitation{}, errCode
	}
	return r.Invitations[at], nil
}

// secrets are a password and perhaps a PIN, as they are kept.
type secrets struct{ password, pin string }

func (r *register) join(code string, s secrets, now time.Time) (account, error) {
	inv, err := r.invited(code, now)
	if err != nil {
		return account{}, err
	}
	r.Invitations = slices.DeleteFunc(r.Invitations, func(i invitation) bool { return i.Code == inv.Code })
	a := r.byID(inv.Account)
	if a == nil {
		if inv.Account != "" || r.find(inv.Name) != nil {
			return account{}, errCode
		}
		r.Accounts = append(r.Accounts, account{ID: rand.Text(), Name: inv.Name, Role: inv.Role, Sites: inv.Sites, Since: now})
		a = &r.Accounts[len(r.Accounts)-1]
	}
	a.Password, a.PIN = s.password, s.pin
	r.note(KindJoined, By{a.Name, a.Role, now}, content{Name: a.Name, Role: a.Role})
	return *a, nil
}

var errUnknown = phrase.Errorf("there is no account, invitation or token of this name: look at the list")

var errNoAccount = phrase.Errorf("there is no account of this name: who has not joined yet is invited again")

// lastKeeper says whether nobody else keeps the register.
func (r *register) lastKeeper(id string) bool {
	return !slices.ContainsFunc(r.Accounts, func(a account) bool { return a.Role == access.Keeper && a.ID != id && a.Password != "" })
}

var errLastKeeper = phrase.Errorf("this is the last keeper: invite another one first")

func (r *register) change(name string, role access.Role, by By) error {
	a := r.find(name)
	if a == nil {
		return errNoAccount
	}
	if _, err := access.ParseRole(string(role)); err != nil {
		return err
	}
	if a.Role == access.Keeper && role != access.Keeper && r.lastKeeper(a.ID) {
		return errLastKeeper
	}
	a.Role = role
	r.note(KindRoleChanged, by, content{Name: a.Name, Role: role})
	return nil
}

func (r *register) showSites(name string, sites access.Sites, by By) error {
	a := r.find(name)
	if a == nil {
		return errNoAccount
	}
	a.Sites = sites
	r.note(KindSitesChanged, by, content{Name: a.Name, Sites: sites})
	return nil
}

// reset takes the password of an account away, ends its sessions, and gives the
// code with which its owner chooses another. Who never took up an invitation gets a new code.
func (r *register) reset(name string, by By) (code string, err error) {
	a := r.find(name)
	if a == nil {
		for _, i := range r.Invitations {
			if folded(i.Name) == folded(name) {
				return r.invite(access.Person{Name: i.Name, Role: i.Role, Sites: i.Sites}, by)
			}
		}
		return "", errUnknown
	}
	a.Password, a.PIN = "", ""
	a.Epoch++
	r.Invitations = slices.DeleteFunc(r.Invitations, func(i invitation) bool { return i.Account == a.ID })
	code, kept := newCode()
	r.Invitations = append(r.Invitations, invitation{Code: kept, Name: a.Name, Role: a.Role, Account: a.ID, Until: by.At.Add(invitationFor)})
	r.note(KindReset, by, content{Name: a.Name})
	return code, nil
}

// revoke takes an account, an invitation or a token away.
func (r *register) revoke(name string, by By) error {
	if a := r.find(name); a != nil {
		if a.Role == access.Keeper && r.lastKeeper(a.ID) {
			return errLastKeeper
		}
		id := a.ID
		r.note(KindRevoked, by, content{Name: a.Name, Role: a.Role})
		r.Invitations = slices.DeleteFunc(r.Invitations, func(i invitation) bool { return i.Account == id })
		r.Accounts = slices.DeleteFunc(r.Accounts, func(a account) bool { return a.ID == id })
		return nil
	}
	if r.bar(name, true, by) == nil {
		return nil
	}
	before := len(r.Invitations) + len(r.Tokens)
	r.Invitations = slices.DeleteFunc(r.Invitations, func(i invitation) bool {
		gone := folded(i.Name) == folded(name)
		if gone {
			r.note(KindRevoked, by, content{Name: i.Name, Role: i.Role})
		}
		return gone
	})
	r.dropTokens(name, by)
	if len(r.Invitations)+len(r.Tokens) == before {
		return errUnknown
	}
	return nil
}

// revokeToken takes a token away, and nothing else of that name.
func (r *register) revokeToken(name string, by By) error {
	before := len(r.Tokens)
	if r.dropTokens(name, by); len(r.Tokens) == before {
		return errUnknown
	}
	return nil
}

func (r *register) dropTokens(name string, by By) {
	r.Tokens = slices.DeleteFunc(r.Tokens, func(t token) bool {
		gone := folded(t.Name) == folded(name)
		if gone {
			r.note(KindTokenRevoked, by, content{Name: t.Name, For: t.For})
		}
		return gone
	})
}

func (r *register) makeToken(name string, purpose Purpose, by By) (key string, err error) {
	if name, err = tidyName(name); err != nil {
		return "", err
	}
	if _, err := parsePurpose(string(purpose)); err != nil {
		return "", err
	}
	if r.taken(name) {
		return "", phrase.Say("the name %s is taken: choose another, or revoke the old one", name).Err()
	}
	key, kept := newKey()
	r.Tokens = append(r.Tokens, token{Key: kept, Name: name, For: purpose, Since: by.At})
	r.note(KindTokenMade, by, content{Name: name, For: purpose})
	return key, nil
}
