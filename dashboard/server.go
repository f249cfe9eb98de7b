// Package dashboard draws the pages: the red board of the wet side, the keeper's
// probes page, forms and charts. It knows a [View] and nothing of how the view
// comes about. Everything it serves is embedded; no page asks for anything outside.
package dashboard

import (
	"embed"
	"errors"
	"net/http"
	"slices"

	"go.uber.org/zap"

	"wetside/dashboard/air"
	"wetside/dashboard/class"
	"wetside/dashboard/keep"
	"wetside/dashboard/people"
	"wetside/dashboard/programs"
	"wetside/dashboard/record"
	"wetside/dashboard/shelf"
	"wetside/dashboard/web"
	"wetside/rules"
	"wetside/rules/access"
	"wetside/rules/duty"
	records "wetside/rules/record"
	"wetside/rules/screentest"
	"wetside/sensors"
)

//go:embed assets templates
var embedded embed.FS

// View is all that the pages know of the rooms.
type View interface {
	web.View
	web.Readings
	class.Health
}

// Options are what the pages need from the rest of the program.
type Options struct {
	View View
	// Shelf is the book of chemistry; nil leaves its pages out.
	Shelf shelf.Shelf
	// Timers are the development timers; nil leaves their page out.
	Timers class.Timers
	// Reports holds duties and reports; nil leaves their pages out.
	Reports record.Reports
	// Gate looks at each request first: a status of 0 lets it through, another one
	// refuses it with a sentence. nil lets every request through.
	Gate func(*http.Request) (status int, sentence string)
	// Accounts knows the people who sign in; nil lets everybody use everything.
	Accounts people.Accounts
	// OpenReading lets pages be read by whoever has not signed in.
	OpenReading bool
	// Screens keeps tests of screens against papers; nil leaves their page out.
	Screens keep.Screens
	// Past is what the book knows of a time; nil leaves it out of the pages that look back.
	Past record.Past
	// Measured is what other programs read of the history; nil leaves it out.
	Measured programs.Measured
	// Maintenance knows the program and its computer; nil leaves the keeper's page out.
	Maintenance keep.Maintenance
	// Fingerprint is that of the certificate with which the pages are served; empty without one.
	Fingerprint string
	// FirstRun makes a first configuration; nil where there is one.
	FirstRun keep.FirstRun
	// Then works out again what a board showed; nil leaves its page out.
	Then class.Then
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
	kit    *web.Kit
	routes []web.Route
}

// New prepares the pages and starts the one goroutine that feeds the live
// streams; Close stops it.
func New(o Options) (*Server, error) {
	if o.View == nil || o.Log == nil || o.Clock == nil {
		return nil, errors.New("the dashboard needs a view, a log and a clock")
	}
	var names func() []string
	if o.Shelf != nil {
		names = o.Shelf.Names
	}
	k, err := web.New(web.Options{View: o.View, Files: embedded, Log: o.Log, Clock: o.Clock, Gate: o.Gate,
		Accounts: o.Accounts, OpenReading: o.OpenReading, Filed: o.Filed, Names: names})
	if err != nil {
		return nil, err
	}
	kinds, err := records.NewRegistry(slices.Concat(rules.Kinds(), []records.Kind{duty.Declared(), screentest.Declared()})...)
	if err != nil {
		return nil, err
	}
	routes := routesOf(k, o)
	if err := k.Start(routes, kinds); err != nil {
		return nil, err
	}
	return &Server{k, routes}, nil
}

func routesOf(k *web.Kit, o Options) []web.Route {
	keeper := &keep.Pages{Kit: k, Readings: o.View, Maintenance: o.Maintenance, Screens: o.Screens, FirstRun: o.FirstRun}
	evenings := class.NewEvenings(k, o.View)
	k.Beside(evenings.Run)
	class := &class.Pages{Kit: k, Health: o.View, Shelf: o.Shelf, Timers: o.Timers, Then: o.Then,
		Screen: keeper.ScreenState, Evenings: evenings}
	routes := slices.Concat(
		k.Routes(),
		class.Routes(),
		(&shelf.Pages{Kit: k, Shelf: o.Shelf}).Routes(),
		(&air.Pages{Kit: k, Readings: o.View, Flows: o.Past}).Routes(),
		(&record.Pages{Kit: k, Readings: o.View, Place: record.Place{View: o.View, Reports: o.Reports, Past: o.Past}}).Routes(),
		keeper.Routes(),
		(&people.Pages{Kit: k, Accounts: o.Accounts, Fingerprint: o.Fingerprint}).Routes(),
		programs.New(k, o.Measured).Routes(),
	)
	if o.Metrics != nil {
		routes = append(routes, web.Route{Pattern: "GET /metrics", For: web.Measuring(), Answer: o.Metrics})
	}
	return routes
}

func (s *Server) ServeHTTP(w http.ResponseWriter, r *http.Request) { s.kit.ServeHTTP(w, r) }

// Close ends the live streams and returns once nothing of them runs any more.
func (s *Server) Close() { s.kit.Close() }
