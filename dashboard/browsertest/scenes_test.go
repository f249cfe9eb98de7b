//go:build browser

package browsertest_test

import (
	"net/http"
	"net/http/httptest"
	"sync/atomic"
	"testing"
	"time"

	"github.com/stretchr/testify/require"
	"go.uber.org/zap"

	"wetside/dashboard"
	"wetside/dashboard/viewtest"
)

// site is a dashboard that serves an invented room on a real port.
type site struct {
	*viewtest.Stage
	t      *testing.T
	server *httptest.Server
	pages  *dashboard.Server
	// The parts beside the room, where a test gave it some.
	shelf   *viewtest.Shelf
	reports *viewtest.Reports
	keeping *viewtest.Maintenance
	door    *viewtest.Accounts
	// before is asked before each request; it may answer in the pages' place.
	before atomic.Pointer[func(http.ResponseWriter, *http.Request) bool]
	asked  atomic.Int64 // requests for the board
}

func newSite(t *testing.T) *site {
	t.Helper()
	stage, err := viewtest.NewStage()
	require.NoError(t, err)
	s := &site{Stage: stage, t: t}
	s.pages, err = dashboard.New(dashboard.Options{View: stage, Clocks: stage, Reports: viewtest.NewReports(), Past: viewtest.NewPast(),
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
	s.pages, err = dashboard.New(dashboard.Options{View: s.Stage, Clocks: s.Stage, Log: zap.NewNop(), Clock: s.Stage.Clock})
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
