package dashboard

import (
	"context"
	"html/template"
	"net/http"
	"sync"

	"go.uber.org/zap"

	"wetside/dashboard/words"
	"wetside/rules"
	"wetside/rules/access"
	"wetside/rules/record"
	"wetside/sensors"
)

// kitOptions are what every page needs.
type kitOptions struct {
	View  View
	Log   *zap.Logger
	Clock sensors.Clock
	// Gate looks at each request first: a status of 0 lets it through, another one
	// refuses it with a sentence. nil lets every request through.
	Gate func(*http.Request) (status int, sentence string)
	// Accounts knows the people who sign in; nil lets everybody use everything.
	Accounts accounts
	// OpenReading lets pages be read by whoever has not signed in.
	OpenReading bool
	// Filed gives the form that was sent with a token to the program before it was started
	// again, and the number of its record; nil where nothing is known of that.
	Filed func(token string) (form access.Form, record uint64, found bool)
}

// kit is what pages are made with: the layout, forms and their receipts, live streams, and
// who is let in.
type kit struct {
	kitOptions
	words     words.Words
	templates *template.Template
	assets    assets
	presses   *presses
	attempts  *attempts
	early     *attempts // of people who have not signed in yet
	registry  registry
	hub       *hub
	handler   http.Handler

	stop context.CancelFunc
	done sync.WaitGroup
}

// newKit prepares what pages are made with; start lets them be served.
func newKit(o kitOptions) (*kit, error) {
	s := &kit{kitOptions: o, words: words.English(), stop: func() {}}
	s.presses, s.attempts, s.early = newPresses(o.Clock), newAttempts(mostAttempts), newAttempts(mostEarly)
	var err error
	if s.assets, err = loadAssets(); err != nil {
		return nil, err
	}
	if s.templates, err = parseTemplates(s.words); err != nil {
		return nil, err
	}
	return s, nil
}

// start serves the routes and begins to feed the live streams, or says what a route lacks.
func (s *kit) start(routes []Route, kinds record.Registry) (err error) {
	if s.registry, err = register(routes, kinds); err != nil {
		return err
	}
	ctx, stop := context.WithCancel(context.Background())
	s.stop = stop
	s.hub = newHub(s.View, s.streamParts, func(t topic) bool { return s.registry.live[t.page].Calm })
	s.handler = s.guard(s.serve(routes))
	s.done.Go(func() { s.hub.run(ctx) })
	return nil
}

// ServeHTTP answers one request.
func (s *kit) ServeHTTP(w http.ResponseWriter, r *http.Request) { s.handler.ServeHTTP(w, r) }

// close ends the live streams and returns once nothing of them runs any more.
func (s *kit) close() {
	s.stop()
	s.done.Wait()
}

// lost says whether the newest state of a room is so old that it proves nothing.
func (s *kit) lost(snap *rules.Snapshot) bool { return s.hub.sightings.lost(snap) }

// routes are those that belong to no page.
func (s *kit) routes() []Route {
	return []Route{{Pattern: "GET /assets/{name}", For: Open(), Answer: http.HandlerFunc(s.asset)}}
}
