// Package web is what pages are made with: routes and who may use them, the layout and the
// menu, forms with their receipts, live streams, and figures in the units of the place.
package web

import (
	"context"
	"html/template"
	"io/fs"
	"net/http"
	"sync"

	"go.uber.org/zap"

	"wetside/rules"
	"wetside/rules/access"
	"wetside/rules/record"
	"wetside/sensors"
)

// Options are what every page needs.
type Options struct {
	View View
	// Files has the folders assets and templates.
	Files fs.FS
	Log   *zap.Logger
	Clock sensors.Clock
	// Gate looks at each request first: a status of 0 lets it through, another one
	// refuses it with a sentence. nil lets every request through.
	Gate func(*http.Request) (status int, sentence string)
	// Accounts knows the people who sign in; nil lets everybody use everything.
	Accounts Accounts
	// OpenReading lets pages be read by whoever has not signed in.
	OpenReading bool
	// Front is what the first page is called where it is not the list of rooms.
	Front string
	// Names are the people who entered something last, the newest first; nil for none.
	Names func() []string
	// Filed gives the form that was sent with a token to the program before it was started
	// again, and the number of its record; nil where nothing is known of that.
	Filed func(token string) (form access.Form, record uint64, found bool)
}

// Kit is what pages are made with: the layout, forms and their receipts, live streams, and
// who is let in.
type Kit struct {
	Options
	templates   *template.Template
	assets      assets
	submissions *submissions
	attempts    *attempts
	early       *attempts // of people who have not signed in yet
	registry    registry
	hub         *hub
	handler     http.Handler

	// beside runs next to the live streams until the end.
	beside []func(context.Context)
	stop   context.CancelFunc
	done   sync.WaitGroup
}

// New prepares what pages are made with; start lets them be served.
func New(o Options) (*Kit, error) {
	s := &Kit{Options: o, stop: func() {}}
	s.submissions = &submissions{clock: o.Clock, known: map[string]*received{}}
	s.attempts, s.early = newAttempts(mostAttempts), newAttempts(mostEarly)
	var err error
	if s.assets, err = loadAssets(o.Files); err != nil {
		return nil, err
	}
	if s.templates, err = parseTemplates(o.Files); err != nil {
		return nil, err
	}
	return s, nil
}

// Start serves the routes and begins to feed the live streams, or says what a route lacks.
func (s *Kit) Start(routes []Route, kinds record.Registry) (err error) {
	if s.registry, err = register(routes, kinds); err != nil {
		return err
	}
	ctx, stop := context.WithCancel(context.Background())
	s.stop = stop
	s.hub = newHub(s.View, s.streamParts, func(t topic) bool { return s.registry.live[t.page].Calm })
	s.handler = s.guard(s.serve(routes))
	for _, run := range append(s.beside, s.hub.run) {
		s.done.Go(func() { run(ctx) })
	}
	return nil
}

// Beside lets something run next to the live streams, from the start to the end.
func (s *Kit) Beside(run func(context.Context)) { s.beside = append(s.beside, run) }

func (s *Kit) ServeHTTP(w http.ResponseWriter, r *http.Request) { s.handler.ServeHTTP(w, r) }

// Close ends the live streams and returns once nothing of them runs any more.
func (s *Kit) Close() {
	s.stop()
	s.done.Wait()
}

// Lost says whether the newest state of a room is so old that it proves nothing.
func (s *Kit) Lost(snap *rules.Snapshot) bool { return s.hub.sightings.lost(snap) }

// Routes are those that belong to no page.
func (s *Kit) Routes() []Route {
	return []Route{{Pattern: "GET /assets/{name}", For: Open(), Answer: http.HandlerFunc(s.asset)}}
}
