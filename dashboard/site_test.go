package dashboard_test

import (
	"io"
	"net/http"
	"net/http/httptest"
	"net/url"
	"strings"
	"testing"

	"github.com/stretchr/testify/require"
	"go.uber.org/goleak"
	"go.uber.org/zap"

	"wetside/dashboard"
	"wetside/dashboard/formtest"
	"wetside/dashboard/viewtest"
)

func TestMain(m *testing.M) { goleak.VerifyTestMain(m) }

const (
	baths      = "/rooms/north/baths"
	alarmsPage = "/rooms/north/alarms"
)

// pages is a dashboard over an invented room.
type pages struct {
	*viewtest.Stage
	*dashboard.Server
	t testing.TB
}

func newPages(t testing.TB) *pages {
	t.Helper()
	stage, err := viewtest.NewStage()
	require.NoError(t, err)
	metrics := http.HandlerFunc(func(w http.ResponseWriter, _ *http.Request) { _, _ = io.WriteString(w, "figures\n") })
	server, err := dashboard.New(dashboard.Options{View: stage, Timers: stage, Past: &viewtest.Past{Of: stage}, Metrics: metrics,
		Log: zap.NewNop(), Clock: stage.Clock})
	require.NoError(t, err)
	t.Cleanup(server.Close)
	return &pages{stage, server, t}
}

// evening is a dashboard over a room in which everything runs.
func evening(t testing.TB) *pages {
	t.Helper()
	p := newPages(t)
	p.Begin()
	p.Publish()
	return p
}

func (p *pages) get(path string) *httptest.ResponseRecorder {
	p.t.Helper()
	out := httptest.NewRecorder()
	p.ServeHTTP(out, httptest.NewRequest(http.MethodGet, path, nil))
	return out
}

// opens shows a page in a browser that has no pickers, in which a person may type any text for a date.
func (p *pages) opens(path string) *formtest.Page {
	p.t.Helper()
	return formtest.On(p.t, p.Server).WithoutPickers().Open(path)
}

// sent is the page after a form: whole, and with nothing to complain of.
func (p *pages) sent(after *formtest.Page) string {
	p.t.Helper()
	require.Empty(p.t, after.Problem())
	require.Equal(p.t, http.StatusOK, after.Status, after.Source)
	return p.read(after)
}

// read gives the text of a page that must be whole.
func (p *pages) read(page *formtest.Page) string {
	p.t.Helper()
	return formtest.Whole(p.t, page.Source)
}

// posts sends what a form holds and follows nothing.
func (p *pages) posts(form *formtest.Form) *httptest.ResponseRecorder {
	p.t.Helper()
	return p.sends(form.Path(), form.Values())
}

// sends posts values without a page, from the same site.
func (p *pages) sends(path string, form url.Values) *httptest.ResponseRecorder {
	p.t.Helper()
	r := httptest.NewRequest(http.MethodPost, path, strings.NewReader(form.Encode()))
	r.Header.Set("Content-Type", "application/x-www-form-urlencoded")
	r.Header.Set("Sec-Fetch-Site", "same-origin")
	out := httptest.NewRecorder()
	p.ServeHTTP(out, r)
	return out
}

// page gets a page, requires that it is whole, and gives its text.
func (p *pages) page(path string) string {
	p.t.Helper()
	out := p.get(path)
	require.Equal(p.t, http.StatusOK, out.Code, "%s: %s", path, out.Body)
	return formtest.Whole(p.t, out.Body.String())
}
