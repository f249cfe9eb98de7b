package dashboard

import (
	"errors"
	"net/http"
	"slices"

	"go.uber.org/zap"

	"wetside/rules"
	"wetside/rules/access"
	"wetside/rules/duty"
	"wetside/rules/record"
	"wetside/rules/screentest"
	"wetside/sensors"
)

// Options are what the pages need from the rest of the program.
type Options struct {
	View View
	// Shelf is the book of chemistry; nil leaves its pages out.
	Shelf Shelf
	// Clocks are the development clocks; nil leaves their page out.
	Clocks Clocks
	// Office holds duties and reports; nil leaves their pages out.
	Office Office
	// Gate looks at each request first: a status of 0 lets it through, another one
	// refuses it with a sentence. nil lets every request through.
	Gate func(*http.Request) (status int, sentence string)
	// Door knows the people who sign in; nil lets everybody use everything.
	Door Door
	// OpenReading lets pages be read by whoever has not signed in.
	OpenReading bool
	// Screens keeps tests of screens against papers; nil leaves their page out.
	Screens Screens
	// Past is what the book tells of a time; nil leaves it out of the pages that look back.
	Past Past
	// Keeping tells of the program and its computer; nil leaves the keeper's page out.
	Keeping Keeping
	// Fingerprint is that of the certificate with which the pages are served; empty without one.
	Fingerprint string
	// FirstRun makes a first configuration; nil where there is one.
	FirstRun FirstRun
	// Then works out again what a board showed; nil leaves its page out.
	Then Then
	// Filed gives the form that was sent with a token to the program before it was started
	// again, and the number of its record; nil where nothing is known of that.
	Filed func(token string) (form access.Form, record uint64, found bool)
	// Metrics answers at /metrics; nil leaves that address unknown.
	Metrics http.Handler
	Log     *zap.Logger
	Clock   sensors.Clock
}

// Server answers every request of the pages. It is an [http.Handler]; timeouts
// and the listener belong to whoever serves it. Close ends the live streams.
type Server struct {
	kit    *kit
	routes []Route
}

// New prepares the pages and starts the one goroutine that feeds the live
// streams; Close stops it.
func New(o Options) (*Server, error) {
	if o.View == nil || o.Log == nil || o.Clock == nil {
		return nil, errors.New("the dashboard needs a view, a log and a clock")
	}
	k, err := newKit(kitOptions{View: o.View, Log: o.Log, Clock: o.Clock, Gate: o.Gate, Accounts: accountsOf(o.Door), OpenReading: o.OpenReading, Filed: o.Filed})
	if err != nil {
		return nil, err
	}
	kinds, err := record.NewRegistry(slices.Concat(rules.Kinds(), []record.Kind{duty.Declared(), screentest.Declared()})...)
	if err != nil {
		return nil, err
	}
	routes := routesOf(k, o)
	if err := k.start(routes, kinds); err != nil {
		return nil, err
	}
	return &Server{k, routes}, nil
}

// routesOf are the routes of every page.
func routesOf(k *kit, o Options) []Route {
	keep := &keepPages{kit: k, keeping: o.Keeping, screens: o.Screens, firstRun: o.FirstRun}
	class := &classPages{kit: k, shelf: o.Shelf, clocks: o.Clocks, then: o.Then, screen: keep.screenState}
	shelf := &shelfPages{kit: k, shelf: o.Shelf}
	air := &airPages{kit: k}
	if o.Past != nil {
		air.flows = o.Past
	}
	record := &recordPages{kit: k, office: o.Office, past: o.Past}
	people := &peoplePages{kit: k, door: o.Door, fingerprint: o.Fingerprint}
	routes := slices.Concat(k.routes(), class.routes(), shelf.routes(), air.routes(), record.routes(), keep.routes(), people.routes())
	if o.Metrics != nil {
		routes = append(routes, Route{Pattern: "GET /metrics", For: Measuring(), Answer: o.Metrics})
	}
	return routes
}

// accountsOf keeps a door that is none from looking like one.
func accountsOf(d Door) accounts {
	if d == nil {
		return nil
	}
	return d
}

// ServeHTTP answers one request.
func (s *Server) ServeHTTP(w http.ResponseWriter, r *http.Request) { s.kit.ServeHTTP(w, r) }

// Close ends the live streams and returns once nothing of them runs any more.
func (s *Server) Close() { s.kit.close() }
