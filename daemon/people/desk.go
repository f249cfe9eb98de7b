package people

import (
	"wetside/dashboard/people"
	"wetside/rules/access"
)

// Desk changes the file of people from the command line, whether or not a daemon
// runs. A daemon that runs takes over the change within seconds, and records it.
type Desk struct {
	Dir string
	By  By
}

// List gives who may sign in.
func (d Desk) List() ([]people.Member, error) {
	r, err := load(d.Dir)
	if err != nil {
		return nil, err
	}
	return r.members(nil), nil
}

// Invite gives the code with which a new person may join.
func (d Desk) Invite(p access.Person) (code string, err error) {
	_, err = change(d.Dir, func(r *register) (err error) {
		code, err = r.invite(p, d.By)
		return err
	})
	return code, err
}

// ShowSites lets somebody see other sites of the centre.
func (d Desk) ShowSites(name string, sites access.Sites) error {
	_, err := change(d.Dir, func(r *register) error { return r.showSites(name, sites, d.By) })
	return err
}

// Reset gives the code with which somebody chooses another password.
func (d Desk) Reset(name string) (code string, err error) {
	_, err = change(d.Dir, func(r *register) (err error) {
		code, err = r.reset(name, d.By)
		return err
	})
	return code, err
}

// Revoke takes an account, an invitation or a token away.
func (d Desk) Revoke(name string) error {
	_, err := change(d.Dir, func(r *register) error { return r.revoke(name, d.By) })
	return err
}

// MakeToken gives the key of a new token.
func (d Desk) MakeToken(name string, purpose Purpose) (key string, err error) {
	_, err = change(d.Dir, func(r *register) (err error) {
		key, err = r.makeToken(name, purpose, d.By)
		return err
	})
	return key, err
}
