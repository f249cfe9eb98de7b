package dashboard

import (
	"errors"
	"net/http"
	"slices"

	"go.uber.org/zap"

	"wetside/dashboard/people"
	"wetside/dashboard/record"
	"wetside/dashboard/sites"
	"wetside/dashboard/web"
	records "wetside/rules/record"
	"wetside/sensors"
)

// CentreOptions are what the pages of a centre need from the rest of the program.
type CentreOptions struct {
	// View is that of the centre itself, which has no room.
	View  web.View
	Sites sites.Sites
	// Place gives the record of the site of a request; false where there is none.
	Place func(*http.Request) (record.Place, bool)
	// Gate looks at each request first: a status of 0 lets it through, another one
	// refuses it with a sentence. nil lets every request through.
	Gate func(*http.Request) (status int, sentence string)
	// Accounts knows the people who sign in; nil lets everybody use everything.
	Accounts    people.Accounts
	Fingerprint string
	Log         *zap.Logger
	Clock       sensors.Clock
}

// NewCentre prepares the pages of a manager of many sites; Close stops them.
func NewCentre(o CentreOptions) (*Server, error) {
	if o.View == nil || o.Sites == nil || o.Place == nil || o.Log == nil || o.Clock == nil {
		return nil, errors.New("the pages of a centre need a view, sites, places, a log and a clock")
	}
	k, err := web.New(web.Options{View: o.View, Files: embedded, Log: o.Log, Clock: o.Clock, Gate: o.Gate, Accounts: o.Accounts,
		Front: "Sites"})
	if err != nil {
		return nil, err
	}
	kinds, err := records.NewRegistry()
	if err != nil {
		return nil, err
	}
	routes := slices.Concat(k.Routes(),
		(&sites.Pages{Kit: k, Sites: o.Sites}).Routes(),
		(&record.Places{Kit: k, Find: o.Place}).Routes(),
		(&people.Pages{Kit: k, Accounts: o.Accounts, Fingerprint: o.Fingerprint, OfSites: true}).Routes())
	if err := k.Start(routes, kinds); err != nil {
		return nil, err
	}
	return &Server{k, routes}, nil
}
