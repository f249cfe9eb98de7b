package sites

import (
	"context"
	"errors"
	"net/http"
	"slices"
	"sync"
	"time"

	"go.uber.org/zap"

	"wetside/daemon/doorway"
	"wetside/daemon/history"
	"wetside/daemon/house"
	"wetside/daemon/people"
	"wetside/dashboard"
	peoplepage "wetside/dashboard/people"
	"wetside/dashboard/web"
	"wetside/rules/access"
	"wetside/rules/record"
)

const lasting = 12 * time.Hour

// DeskOptions are what the pages of a centre need.
type DeskOptions struct {
	Options
	// SignIn has people sign in; without it the pages are shown on this computer alone.
	SignIn bool
	// SecondStep is the role from which on a code of an app is asked for too; empty for none.
	SecondStep access.Role
	// House is the identity provider by which people sign in too; nil for none.
	House *house.Options
	// Data is the folder that keeps who may sign in, and a record book of who did.
	Data string
	// Hosts are names under which the pages are asked for, besides this computer's own.
	Hosts       []string
	Fingerprint string // of the certificate; empty without one
}

// Desk is what a manager sees and who is let in. It is an [http.Handler].
type Desk struct {
	overview *Overview
	pages    *dashboard.Server
	book     *history.Store // nil where nobody signs in
	roster   *people.Roster
}

// OpenDesk opens the accounts, where people sign in, and prepares the pages.
func OpenDesk(ctx context.Context, o DeskOptions) (*Desk, error) {
	d := &Desk{overview: New(o.Options)}
	if err := d.openRoster(ctx, o); err != nil {
		return nil, errors.Join(err, d.Close())
	}
	var accounts peoplepage.Accounts
	if d.roster != nil {
		accounts = d.roster
	}
	gate := doorway.NewGate(o.Clock, o.Hosts)
	var err error
	d.pages, err = dashboard.NewCentre(dashboard.CentreOptions{View: d.overview.View(), Sites: d.overview, Place: d.overview.Place,
		Accounts: accounts, Fingerprint: o.Fingerprint, Log: o.Log, Clock: o.Clock,
		Gate: func(r *http.Request) (int, string) {
			if !o.SignIn && !web.IsHere(r) {
				return http.StatusForbidden, "These pages are shown on the centre's own computer alone: start the centre with --sign-in to let " +
					"people sign in from elsewhere."
			}
			return gate.Check(r)
		}})
	if err != nil {
		return nil, errors.Join(err, d.Close())
	}
	return d, nil
}

// openRoster opens a record book of the centre's own, in which it is recorded who signs in.
func (d *Desk) openRoster(ctx context.Context, o DeskOptions) error {
	if !o.SignIn {
		return nil
	}
	kinds, err := record.NewRegistry(slices.Concat(history.Kinds(), people.Kinds())...)
	if err != nil {
		return err
	}
	if d.book, err = history.Open(ctx, history.Options{Dir: o.Data, Clock: o.Clock, Zone: o.Zone, Version: o.Version,
		Kinds: kinds}); err != nil {
		return err
	}
	door := people.Options{Dir: o.Data, Lasting: lasting, Cost: people.UsualCost(), Book: d.book, SecondStep: o.SecondStep, Clock: o.Clock,
		Log: o.Log.Named("people")}
	if o.House != nil {
		door.House = house.New(*o.House, o.Clock)
	}
	d.roster, err = people.Open(door)
	if err == nil && len(d.roster.People()) == 0 {
		o.Log.Warn("nobody can sign in yet: make the first keeper with wetside people invite --role keeper", zap.String("data", o.Data))
	}
	return err
}

func (d *Desk) ServeHTTP(w http.ResponseWriter, r *http.Request) { d.pages.ServeHTTP(w, r) }

// Run keeps what is shown up to date until ctx ends.
func (d *Desk) Run(ctx context.Context) {
	var running sync.WaitGroup
	running.Go(func() { d.overview.Run(ctx) })
	if d.roster != nil {
		running.Go(func() { d.roster.Run(ctx) })
	}
	running.Wait()
}

// Close ends the pages and closes the book.
func (d *Desk) Close() error {
	if d.pages != nil {
		d.pages.Close()
	}
	if d.book == nil {
		return nil
	}
	return d.book.Close()
}
