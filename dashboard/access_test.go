package dashboard_test

import (
	"context"
	"html"
	"io"
	"net/http"
	"net/http/httptest"
	"net/url"
	"regexp"
	"slices"
	"strings"
	"testing"
	"time"

	"github.com/stretchr/testify/require"
	"go.uber.org/zap"

	"wetside/chem/ledger"
	"wetside/dashboard"
	"wetside/dashboard/formtest"
	"wetside/dashboard/viewtest"
	"wetside/rules"
	"wetside/rules/access"
	"wetside/rules/duty"
	"wetside/rules/record"
	"wetside/rules/screentest"
)

// Who may use a route, beside the roles.
const (
	anybody = "anybody"
	meters  = "meters"   // only the tokens for the metrics
	script  = "programs" // readers, and the tokens for programs
)

// whoMay says for every route from whom on it may be used, once more and apart
// from the table that the program goes by, so that no decision changes by chance.
func whoMay() map[string]string {
	return map[string]string{
		"GET /healthz": anybody, "GET /assets/{name}": anybody, "GET /metrics": meters,
		"GET /api/now": script, "GET /api/channels": script, "GET /api/series": script, "GET /api/openapi.json": script,

		"GET /{$}": "reader", "GET /events": "reader", "GET /rooms/{room}/board": "reader", "GET /rooms/{room}/events": "reader",
		"GET /rooms/{room}/probes": "reader", "GET /rooms/{room}/probes/events": "reader", "GET /rooms/{room}/history": "reader",
		"POST /rooms/{room}/probes": "volunteer", "GET /rooms/{room}/probe/{channel}": "reader",
		"POST /rooms/{room}/probe/{channel}":         "volunteer",
		"GET /rooms/{room}/probe/{channel}/hour.svg": "reader",
		"GET /rooms/{room}/probe/{channel}/check":    "volunteer", "POST /rooms/{room}/probe/{channel}/check": "instructor",
		"GET /rooms/{room}/air": "reader", "GET /rooms/{room}/alarms": "reader", "GET /rooms/{room}/timer": "reader",
		"GET /rooms/{room}/timer/events": "reader", "GET /rooms/{room}/baths": "reader",
		"GET /rooms/{room}/air/events": "reader", "GET /rooms/{room}/air/limits": "reader", "GET /rooms/{room}/air/limits/events": "reader",
		"POST /rooms/{room}/air/limits": "volunteer", "GET /rooms/{room}/air/traverse": "reader", "POST /rooms/{room}/air/traverse": "manager",
		"GET /rooms/{room}/air/test": "reader", "POST /rooms/{room}/air/test": "volunteer",
		"GET /rooms/{room}/alarms/events": "reader", "GET /rooms/{room}/alarms/figures": "reader",
		"POST /rooms/{room}/baths": "volunteer", "POST /rooms/{room}/air": "volunteer", "POST /rooms/{room}/alarms": "volunteer",
		"POST /rooms/{room}/timer": "volunteer", "POST /rooms/{room}/seen": "volunteer", "POST /rooms/{room}/seer": "volunteer",

		"GET /rooms/{room}/tonight": "reader", "GET /rooms/{room}/then": "reader",
		"GET /mix": "reader", "GET /shelf": "reader", "GET /shelf/find": "reader", "GET /shelf/{name}": "reader",
		"GET /shelf/label/{batch}": "reader",
		"GET /shelf/enter/{kind}":  "volunteer", "POST /shelf/enter/{kind}": "volunteer", "POST /shelf/typing/{kind}": "volunteer",
		"GET /shelf/tests":          "reader",
		"GET /shelf/entry/{number}": "volunteer", "POST /shelf/entry/{number}": "volunteer",
		"GET /rooms/{room}/set-up": "volunteer", "POST /rooms/{room}/set-up": "volunteer",
		"GET /rooms/{room}/take-down": "volunteer", "POST /rooms/{room}/take-down": "volunteer", "POST /rooms/{room}/announce": "volunteer",

		"GET /first-run": "keeper", "POST /first-run": "keeper",
		"GET /keeper": "volunteer", "POST /keeper": "keeper",
		"GET /labels": "reader", "GET /labels.pdf": "reader",
		"GET /screen": "reader", "GET /screen/light": "reader", "POST /screen": "volunteer",
		"GET /weeks": "volunteer", "GET /duties": "volunteer", "POST /duties": "volunteer", "GET /report": "volunteer",
		"GET /report/report.pdf": "volunteer", "GET /report/report.zip": "volunteer",

		"GET /sign-in": anybody, "POST /sign-in": anybody, "POST /sign-out": anybody, "GET /join": anybody, "POST /join": anybody,
		"POST /sign-in/code": anybody, "GET /sign-in/house": anybody,
		"GET /sign-in/house/back": anybody, "POST /sign-in/house/sign-out": anybody, "GET /second-step": "volunteer",
		"POST /second-step": "volunteer",
		"GET /people":       "keeper", "POST /people": "keeper",
		"GET /people/programs": "manager", "POST /people/programs": "manager",
	}
}

// callers are everybody who may knock, and what they show.
func callers() map[string]string {
	list := map[string]string{"nobody": "", "a false token": "FALSE", meters: viewtest.MeterToken, script: viewtest.ProgramToken,
		"reader": "reader"}
	for _, r := range access.Roles() {
		list[string(r)] = string(r)
	}
	return list
}

// guarded is a dashboard with every page, behind a door.
func guarded(t testing.TB, change func(*dashboard.Options)) *pages {
	t.Helper()
	stage, err := viewtest.NewStage()
	require.NoError(t, err)
	stage.Begin()
	stage.Publish()
	shelf := viewtest.NewShelf(stage.Clock, stage.Scene, ledger.Settings{})
	metrics := http.HandlerFunc(func(w http.ResponseWriter, _ *http.Request) { _, _ = io.WriteString(w, "figures\n") })
	o := dashboard.Options{View: stage, Shelf: shelf, Timers: stage, Reports: viewtest.NewReports(),
		Measured: &measured{Step: time.Minute}, Past: viewtest.NewPast(), Then: &viewtest.Then{}, Screens: viewtest.Screens{},
		Maintenance: viewtest.NewMaintenance(), FirstRun: viewtest.FirstRun{}, Accounts: viewtest.NewAccounts(t), Metrics: metrics,
		Log: zap.NewNop(), Clock: stage.Clock}
	if change != nil {
		change(&o)
	}
	server, err := dashboard.New(o)
	require.NoError(t, err)
	t.Cleanup(server.Close)
	return &pages{stage, server, t}
}

// knock asks for a route with what a caller shows, and ends live streams at once.
func (p *pages) knock(route, token string, form url.Values) *httptest.ResponseRecorder {
	p.t.Helper()
	method, path, _ := strings.Cut(route, " ")
	path = strings.NewReplacer("{room}", "north", "{site}", "1", "{$}", "", "{name}", "icon.svg", "{batch}", "PD-17", "{kind}",
		"bottle-opened", "{number}", "1").Replace(path)
	ctx, end := context.WithCancel(context.Background())
	end()
	r := httptest.NewRequestWithContext(ctx, method, path, strings.NewReader(form.Encode()))
	r.Header.Set("Content-Type", "application/x-www-form-urlencoded")
	if token != "" {
		r.Header.Set("Authorization", "Bearer "+token)
	}
	out := httptest.NewRecorder()
	p.ServeHTTP(out, r)
	return out
}

// expected says whether a caller gets through to a route that is for some.
func expected(caller, least string) bool {
	switch least {
	case anybody:
		return true
	case meters:
		return caller == meters
	case script:
		return caller == script || access.Role(caller).Covers(access.Reader)
	}
	return access.Role(caller).Covers(access.Role(least))
}

func TestEveryRouteLetsInWhoMayAndNobodyElse(t *testing.T) {
	p := guarded(t, nil)
	table := whoMay()
	for _, route := range p.Patterns() {
		least, told := table[route]
		require.True(t, told, "say in whoMay, once more, from whom on %q may be used", route)
		delete(table, route)
		for caller, token := range callers() {
			out := p.knock(route, token, nil)
			require.NotContains(t, out.Body.String(), "There is no page at this address", "%s has a route and no page", route)
			turnedAway := out.Code == http.StatusUnauthorized || out.Code == http.StatusForbidden
			require.Equal(t, expected(caller, least), !turnedAway, "%s by %s: %d", route, caller, out.Code)
		}
	}
	require.Empty(t, table, "these routes are gone")
}

func TestTheMenuLeadsNobodyWhereTheyAreTurnedAway(t *testing.T) {
	p, menu, link := guarded(t, nil), regexp.MustCompile(`(?s)<nav.*?</nav>`), regexp.MustCompile(`href="([^"]*)"`)
	for _, role := range access.Roles() {
		for _, page := range []string{"GET /{$}", "GET /rooms/{room}/air", "GET /shelf"} {
			links := link.FindAllStringSubmatch(menu.FindString(p.knock(page, string(role), nil).Body.String()), -1)
			require.Greater(t, len(links), 10, "%s for a %s", page, role)
			for _, to := range links {
				require.NotEqual(t, http.StatusForbidden, p.knock("GET "+html.UnescapeString(to[1]), string(role), nil).Code,
					"from %s a %s is led to %s", page, role, to[1])
			}
		}
	}
}

func TestWhereReadingIsOpenNothingIsChangedWithoutSigningIn(t *testing.T) {
	p := guarded(t, func(o *dashboard.Options) { o.OpenReading = true })
	for route, least := range whoMay() {
		out := p.knock(route, "", nil)
		turnedAway := out.Code == http.StatusUnauthorized || out.Code == http.StatusForbidden
		require.Equal(t, least == anybody || least == script || least == "reader", !turnedAway, "%s: %d", route, out.Code)
		if !strings.HasPrefix(route, "GET ") && least != anybody {
			require.True(t, turnedAway, route)
		}
	}
}

func TestWithoutADoorEverybodyMayUseEverything(t *testing.T) {
	p := guarded(t, func(o *dashboard.Options) { o.Accounts = nil })
	for route := range whoMay() {
		out := p.knock(route, "", nil)
		require.NotContains(t, []int{http.StatusUnauthorized, http.StatusForbidden}, out.Code, route)
	}
}

// TestAnActOfAFormIsForWhoMayEnterItsRecord sends every act of a form as every role. What
// an evening is judged by and what changes readings is for a manager, and so on: the acts
// that ask for more than their route are listed once more here, so that none changes by chance.
func TestAnActOfAFormIsForWhoMayEnterItsRecord(t *testing.T) {
	above := map[string]access.Role{"shelve": access.Instructor, "restore": access.Instructor, "disable": access.Manager,
		"require": access.Manager, "require-change": access.Manager, "require-off": access.Manager, "limit": access.Manager,
		"limit-off": access.Manager,
		"unexposed": access.Manager, "unexposed-off": access.Manager,
		"check": access.Instructor, "correct": access.Manager}
	kinds, err := record.NewRegistry(slices.Concat(rules.Kinds(), []record.Kind{duty.Declared(), screentest.Declared()})...)
	require.NoError(t, err)
	for act, kind := range guarded(t, nil).ActKinds() {
		least := access.Volunteer
		if role, told := above[act]; told {
			least = role
			delete(above, act)
		}
		require.Equal(t, least, kinds.Least(kind), act)
		for _, role := range access.Roles() {
			p := guarded(t, nil)
			form := formtest.Forged("act", act, "alarm", "none", "token", someToken, "why", "a test", "minutes", "30")
			out := p.knock("POST /rooms/{room}/alarms", string(role), form)
			require.Equal(t, !role.Covers(least), out.Code == http.StatusForbidden, "%s by a %s", act, role)
			if !role.Covers(least) {
				require.Contains(t, out.Body.String(), "This needs the role "+string(least))
			}
		}
	}
	require.Empty(t, above, "these acts are no longer in a form")
}

// TestAnActThatItsRouteDoesNotNameIsRefused sends acts to forms that do not have them: nobody
// has said who may do that there.
func TestAnActThatItsRouteDoesNotNameIsRefused(t *testing.T) {
	for _, act := range []string{"wind up", "shelve", ""} {
		p := guarded(t, nil)
		out := p.knock("POST /rooms/{room}/probes", "keeper", formtest.Forged("act", act, "alarm", "air", "token", someToken))
		require.Equal(t, http.StatusBadRequest, out.Code, act)
		require.Contains(t, out.Body.String(), "asks for something wetside does not know")
	}
}
