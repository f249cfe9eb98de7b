package daemon_test

import (
	"cmp"
	"context"
	"encoding/json"
	"io"
	"net/http"
	"net/url"
	"os"
	"strings"
	"testing"

	"github.com/stretchr/testify/require"

	"wetside/chem/ledger"
	"wetside/daemon/config"
	"wetside/daemon/history"
	"wetside/daemon/history/disktest"
	"wetside/daemon/northtest"
	"wetside/dashboard/cards"
	"wetside/dashboard/formtest"
	"wetside/rules"
	"wetside/sensors/quantity"
)

const (
	developerPage = "/rooms/north/probe/north-developer"
	setUp         = "/rooms/north/set-up"
	takeDown      = "/rooms/north/take-down"
	baths         = "/rooms/north/baths"
	alarmsPage    = "/rooms/north/alarms"
	timerPage     = "/rooms/north/timer"
	tonightPage   = "/rooms/north/tonight"
	boardPage     = "/rooms/north/board"
)

// north is a whole daemon on the room North darkroom, and browsers in front of it.
type north struct {
	*northtest.North
	t testing.TB
}

func newNorth(t testing.TB, changes ...func(*config.Config)) *north {
	t.Helper()
	s := northtest.Start(t, changes...)
	return &north{s, t}
}

// look shows a test the book of the shelf.
func (s *north) look(test func(*cards.ShelfBook)) { test(s.Daemon.Shelf().Book()) }

// opens shows a page in a browser that has no pickers, in which a person may type any text for a date.
func (s *north) opens(path string) *formtest.Page {
	s.t.Helper()
	return s.browser().WithoutPickers().Open(path)
}

func (s *north) browser() *formtest.Browser { return formtest.At(s.t, s.Daemon.URL()) }

// fills opens a page and fills its form for an act.
func (s *north) fills(path, act string, typed ...string) *formtest.Form {
	s.t.Helper()
	return s.opens(path).Form(formtest.Doing(act)).FillIn(typed...)
}

// sent is the page after a form, with nothing to complain of.
func (s *north) sent(after *formtest.Page) string {
	s.t.Helper()
	require.Empty(s.t, after.Problem())
	require.Equal(s.t, http.StatusOK, after.Status, after.Source)
	return s.read(after)
}

// read gives the text of a page that must be whole.
func (s *north) read(page *formtest.Page) string {
	s.t.Helper()
	return formtest.Whole(s.t, page.Source)
}

// page gets a page and gives its text.
func (s *north) page(path string) string {
	s.t.Helper()
	page := s.opens(path)
	require.Equal(s.t, http.StatusOK, page.Status, path)
	return s.read(page)
}

// sends posts values without a page, from the same site, and follows nothing.
func (s *north) sends(path string, form url.Values) answer {
	s.t.Helper()
	return s.asks(s.request(s.t.Context(), path, form.Encode()))
}

// request is a form from the same site.
func (s *north) request(ctx context.Context, path, form string) *http.Request {
	s.t.Helper()
	r, err := http.NewRequestWithContext(ctx, http.MethodPost, s.Daemon.URL()+path, strings.NewReader(form))
	require.NoError(s.t, err)
	r.Header.Set("Content-Type", "application/x-www-form-urlencoded")
	r.Header.Set("Sec-Fetch-Site", "same-origin")
	return r
}

// answer is what came back, with nothing followed.
type answer struct {
	Code   int
	Header http.Header
	Body   string
}

// asks sends a request and follows nothing.
func (s *north) asks(r *http.Request) answer {
	s.t.Helper()
	came, err := http.DefaultTransport.RoundTrip(r)
	require.NoError(s.t, err)
	defer came.Body.Close()
	body, err := io.ReadAll(came.Body)
	require.NoError(s.t, err)
	return answer{came.StatusCode, came.Header, string(body)}
}

// posts sends what a form holds and follows nothing.
func (s *north) posts(form *formtest.Form) answer {
	s.t.Helper()
	return s.sends(form.Path(), form.Values())
}

// stocked has an opened bottle of each concentrate and a drum for silver.
func stocked(t testing.TB, changes ...func(*config.Config)) *north {
	t.Helper()
	s := newNorth(t, changes...)
	s.Stock()
	return s
}

// classroom has a developer and a fixer of 2 L each in the trays.
func classroom(t testing.TB, changes ...func(*config.Config)) *north {
	t.Helper()
	s := stocked(t, changes...)
	s.Does(nine("D1", developerTray, 200, 1800), mixed("F1", fixerTray, 200, 1800))
	s.Minutes(1, northtest.Usual())
	return s
}

func mixed(batch, tray string, concentrate, water quantity.Millilitre) ledger.BatchMixed {
	return ledger.BatchMixed{Batch: batch, Name: "Fixer", Product: "rapid-fixer", Class: ledger.Fixer, Into: tray,
		Meant: ledger.FromConcentrate,
		From:  "FX bottle", ParentVolume: concentrate, Water: water, Aim: ledger.Parts{Parent: 1, Water: 9}, Owner: ledger.House}
}

// entry fills the form of an act of the shelf on a page; empty is the page of that form alone,
// for which a query may follow the kind.
func (s *north) entry(page, kind string, typed ...string) *formtest.Form {
	s.t.Helper()
	path, _, _ := strings.Cut("/shelf/enter/"+kind, "?")
	return s.opens(cmp.Or(page, "/shelf/enter/"+kind)).Form(formtest.To(path)).FillIn(typed...)
}

// enters sends the form of an act and gives the page that it leads to.
func (s *north) enters(kind string, typed ...string) string {
	s.t.Helper()
	return s.sent(s.entry("", kind, typed...).Send())
}

// refused sends a form that can't be taken, and gives its page.
func (s *north) refused(kind string, typed ...string) *formtest.Page {
	s.t.Helper()
	page := s.entry("", kind, typed...).Send()
	require.Equal(s.t, http.StatusUnprocessableEntity, page.Status)
	formtest.Whole(s.t, page.Source)
	return page
}

// lastOf reads what the newest record of a kind says.
func lastOf[A any](s *north, kind string) (act A, by history.Record) {
	s.t.Helper()
	records := s.Kept(kind)
	require.NotEmpty(s.t, records, kind)
	by = records[len(records)-1]
	require.NoError(s.t, json.Unmarshal(by.Content, &act))
	return act, by
}

// enteredAs requires the newest record of the kind of an act to be that act of Ida's.
func (s *north) enteredAs(act rules.Act) {
	s.t.Helper()
	text, err := json.Marshal(act)
	require.NoError(s.t, err)
	var want map[string]any
	require.NoError(s.t, json.Unmarshal(text, &want))
	content, by := lastOf[map[string]any](s, act.Kind())
	for field, value := range want { // the room may add what it knows of it
		require.Equal(s.t, value, content[field], "%s: %s", act.Kind(), field)
	}
	require.Equal(s.t, []string{"north", "Ida"}, []string{by.Room, by.Person})
}

// usUnits are those of a place that reads fluid ounces and degrees Fahrenheit.
func usUnits(c *config.Config) {
	unit := func(symbol string) quantity.Unit {
		u, err := quantity.ParseUnit(symbol)
		if err != nil {
			panic(err)
		}
		return u
	}
	c.Units.Temperature, c.Units.Flow, c.Units.Pressure, c.Units.Velocity, c.Units.Volume = unit("F"), unit("cfm"), unit("inwg"),
		unit("fpm"), unit("floz")
}

// onDisk is a place whose disk a test can break.
func onDisk(t testing.TB, disk **disktest.Disk) func(*config.Config) {
	return func(c *config.Config) {
		require.NoError(t, os.MkdirAll(c.Data, 0o700))
		*disk = disktest.On(t, c.Data, 1)
	}
}
