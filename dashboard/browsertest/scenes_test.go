//go:build browser

package browsertest_test

import (
	"context"
	"net/http"
	"net/http/httptest"
	"slices"
	"sync"
	"sync/atomic"
	"testing"
	"time"

	"github.com/stretchr/testify/require"
	"go.uber.org/zap"

	"wetside/dashboard"
	"wetside/dashboard/viewtest"
	"wetside/rules"
	"wetside/sensors/quantity/phrase"
)

// site is a dashboard that serves an invented room on a real port.
type site struct {
	*taking
	t      *testing.T
	server *httptest.Server
	pages  *dashboard.Server
	door   *viewtest.Accounts // where people sign in
	// before is asked before each request; it may answer in the pages' place.
	before atomic.Pointer[func(http.ResponseWriter, *http.Request) bool]
	asked  atomic.Int64 // requests for the board
}

// taking is an invented room that notes what the script of a page sends, and answers as a test says. What becomes
// of a form is tested on a whole daemon.
type taking struct {
	*viewtest.Stage
	mu       sync.Mutex
	act      func(context.Context, rules.Command) (rules.Receipt, error)
	commands []rules.Command
}

func takes(stage *viewtest.Stage) *taking {
	return &taking{Stage: stage, act: func(context.Context, rules.Command) (rules.Receipt, error) {
		return rules.Receipt{Number: 1, Sentence: phrase.Plain("Recorded as number 1.")}, nil
	}}
}

// Do notes the command and answers it.
func (s *taking) Do(ctx context.Context, c rules.Command) (rules.Receipt, error) {
	s.mu.Lock()
	s.commands = append(s.commands, c)
	act := s.act
	s.mu.Unlock()
	return act(ctx, c)
}

// Answer sets how commands are answered.
func (s *taking) Answer(act func(context.Context, rules.Command) (rules.Receipt, error)) {
	s.mu.Lock()
	defer s.mu.Unlock()
	s.act = act
}

// Commands are those that came, in their order.
func (s *taking) Commands() []rules.Command {
	s.mu.Lock()
	defer s.mu.Unlock()
	return slices.Clone(s.commands)
}

func newSite(t *testing.T) *site {
	t.Helper()
	stage, err := viewtest.NewStage()
	require.NoError(t, err)
	s := &site{taking: takes(stage), t: t}
	s.pages, err = dashboard.New(dashboard.Options{View: s.taking, Timers: stage, Reports: viewtest.NewReports(), Past: viewtest.NewPast(),
		Screens: viewtest.Screens{}, Maintenance: viewtest.NewMaintenance(), Log: zap.NewNop(), Clock: stage.Clock})
	require.NoError(t, err)
	s.server = httptest.NewServer(s)
	t.Cleanup(func() { s.pages.Close(); s.server.CloseClientConnections(); s.server.Close() })
	return s
}

// restart puts a new program in the place of the one that serves: it knows of no form that was drawn before.
func (s *site) restart() {
	s.t.Helper()
	old := s.pages
	var err error
	s.pages, err = dashboard.New(dashboard.Options{View: s.taking, Timers: s.Stage, Log: zap.NewNop(), Clock: s.Stage.Clock})
	require.NoError(s.t, err)
	old.Close()
}

// ServeHTTP lets a test stand between the browser and the pages.
func (s *site) ServeHTTP(w http.ResponseWriter, r *http.Request) {
	if r.URL.Path == "/" {
		s.asked.Add(1)
	}
	if before := s.before.Load(); before == nil || !(*before)(w, r) {
		s.pages.ServeHTTP(w, r)
	}
}

// interpose puts a function between the browser and the pages; nil takes it away.
func (s *site) interpose(f func(http.ResponseWriter, *http.Request) bool) {
	if f == nil {
		s.before.Store(nil)
		return
	}
	s.before.Store(&f)
}

func (s *site) host() string { return s.server.Listener.Addr().String() }

// keepShowing publishes the room again and again, as a loop that turns would,
// until the test ends or the function it gives is called.
func (s *site) keepShowing() (stop func()) {
	s.t.Helper()
	s.Publish()
	return s.keepAgain()
}

// keepAgain is keepShowing for the rooms as they are shown now.
func (s *site) keepAgain() (stop func()) {
	s.t.Helper()
	quit, ended := make(chan struct{}), make(chan struct{})
	go func() {
		defer close(ended)
		tick := time.NewTicker(500 * time.Millisecond)
		defer tick.Stop()
		for {
			select {
			case <-quit:
				return
			case <-tick.C:
				s.Again()
			}
		}
	}()
	stopped := false
	stop = func() {
		if !stopped {
			stopped = true
			close(quit)
			<-ended
		}
	}
	s.t.Cleanup(stop)
	return stop
}
