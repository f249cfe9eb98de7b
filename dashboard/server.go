package dashboard

import (
	"context"
	"errors"
	"html/template"
	"net/http"
	"sync"

	"go.uber.org/zap"

	"wetside/dashboard/words"
	"wetside/rules/access"
	"wetside/rules/record"
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
	view      View
	shelf     Shelf
	office    Office
	past      Past
	then      Then
	clocks    Clocks
	gate      func(*http.Request) (int, string)
	door      Door
	screens   Screens
	keeping   Keeping
	firstRun  FirstRun
	log       *zap.Logger
	clock     sensors.Clock
	words     words.Words
	templates *template.Template
	assets    assets
	presses   *presses
	kinds     record.Registry
	filed     func(token string) (access.Form, uint64, bool)
	attempts  *attempts
	early     *attempts // of people who have not signed in yet
	hub       *hub
	handler   http.Handler

	openReading bool
	fingerprint string

	stop context.CancelFunc
	done sync.WaitGroup
}

// New prepares the pages and starts the one goroutine that feeds the live
// streams; Close stops it.
func New(o Options) (*Server, error) {
	if o.View == nil || o.Log == nil || o.Clock == nil {
		return nil, errors.New("the dashboard needs a view, a log and a clock")
	}
	s := &Server{view: o.View, shelf: o.Shelf, office: o.Office, past: o.Past, then: o.Then, clocks: o.Clocks, screens: o.Screens, keeping: o.Keeping, firstRun: o.FirstRun, door: o.Door, openReading: o.OpenReading, log: o.Log, clock: o.Clock, words: words.English()}
	s.presses, s.attempts, s.early = newPresses(o.Clock), newAttempts(mostAttempts), newAttempts(mostEarly)
	s.gate, s.fingerprint, s.filed = o.Gate, o.Fingerprint, o.Filed
	var err error
	if s.kinds, err = declareActs(); err != nil {
		return nil, err
	}
	routed, err := s.routes(o.Metrics)
	if err != nil {
		return nil, err
	}
	if s.assets, err = loadAssets(); err != nil {
		return nil, err
	}
	if s.templates, err = parseTemplates(s.words); err != nil {
		return nil, err
	}
	ctx, stop := context.WithCancel(context.Background())
	s.stop = stop
	s.hub = newHub(s.view, s.streamParts)
	s.handler = s.guard(routed)
	s.done.Go(func() { s.hub.run(ctx) })
	return s, nil
}

// ServeHTTP answers one request.
func (s *Server) ServeHTTP(w http.ResponseWriter, r *http.Request) { s.handler.ServeHTTP(w, r) }

// Close ends the live streams and returns once nothing of them runs any more.
func (s *Server) Close() {
	s.stop()
	s.done.Wait()
}
