package dashboard_test

import (
	"context"
	"fmt"
	"io"
	"net/http"
	"strings"
	"testing"
	"time"

	"github.com/stretchr/testify/require"
	"go.uber.org/zap"

	"wetside/dashboard"
	"wetside/dashboard/formtest"
	"wetside/dashboard/record"
	"wetside/dashboard/report"
	"wetside/dashboard/sites"
	"wetside/dashboard/viewtest"
)

// oneSite is a centre that has one site.
type oneSite struct{}

func (oneSite) Standing() sites.Standing {
	return sites.Standing{Sites: []sites.Site{{ID: 1, Name: "Library", Heard: time.Date(2026, 10, 14, 20, 0, 0, 0, time.UTC)}}}
}

func (oneSite) Report(context.Context, sites.Question) (report.Several, error) {
	return report.Several{}, nil
}

func (oneSite) WriteReport(context.Context, report.Several, io.Writer) error { return nil }

func TestThePagesOfACentreAreForManagersAlone(t *testing.T) {
	stage, err := viewtest.NewStage()
	require.NoError(t, err)
	place := record.Place{View: stage, Reports: viewtest.NewReports(), Past: viewtest.NewPast(), Name: "Library", Under: "/sites/1"}
	server, err := dashboard.NewCentre(dashboard.CentreOptions{View: stage, Sites: oneSite{}, Accounts: viewtest.NewAccounts(t),
		Log: zap.NewNop(), Clock: stage.Clock,
		Place: func(*http.Request) (record.Place, bool) { return place, true }})
	require.NoError(t, err)
	t.Cleanup(server.Close)
	p := &pages{stage, server, t}
	table := map[string]string{"GET /assets/{name}": anybody, "GET /{$}": "manager", "GET /sites/events": "manager",
		"GET /report": "manager", "GET /report/report.pdf": "manager", "GET /report/report.zip": "manager",
		"GET /sites/{site}/weeks": "manager", "GET /sites/{site}/report": "manager", "GET /sites/{site}/report/report.pdf": "manager",
		"GET /sites/{site}/report/report.zip": "manager",
		"GET /sign-in":                        anybody, "POST /sign-in": anybody, "POST /sign-out": anybody, "GET /join": anybody,
		"POST /join": anybody, "POST /sign-in/code": anybody, "GET /sign-in/house": anybody,
		"GET /sign-in/house/back": anybody, "POST /sign-in/house/sign-out": anybody, "GET /second-step": "volunteer",
		"POST /second-step": "volunteer",
		"GET /people":       "keeper", "POST /people": "keeper"}
	for _, route := range p.Patterns() {
		least, told := table[route]
		require.True(t, told, "say in this table, once more, from whom on %q may be used", route)
		delete(table, route)
		for caller, token := range callers() {
			out := p.knock(route, token, nil)
			turnedAway := out.Code == http.StatusUnauthorized || out.Code == http.StatusForbidden
			require.Equal(t, expected(caller, least), !turnedAway, "%s by %s: %d", route, caller, out.Code)
		}
	}
	require.Empty(t, table, "these routes are gone")
}

// asked is a centre with two sites that keeps what it is asked for.
type asked struct {
	oneSite
	last sites.Question
}

func (*asked) Standing() sites.Standing {
	return sites.Standing{Sites: []sites.Site{{ID: 1, Name: "Library"}, {ID: 2, Building: "Hall", Name: "Basement"}}}
}

func (a *asked) Report(_ context.Context, q sites.Question) (report.Several, error) {
	a.last = q
	return report.Several{}, nil
}

func TestAReportOnAChoiceOfSitesIsAskedForAsABrowserSendsTheForm(t *testing.T) {
	for _, look := range []string{"", "?look=red"} {
		stage, err := viewtest.NewStage()
		require.NoError(t, err)
		centre := &asked{}
		server, err := dashboard.NewCentre(dashboard.CentreOptions{View: stage, Sites: centre, Log: zap.NewNop(), Clock: stage.Clock,
			Place: func(*http.Request) (record.Place, bool) { return record.Place{}, false }})
		require.NoError(t, err)
		t.Cleanup(server.Close)
		p := &pages{stage, server, t}
		form := func() *formtest.Form { return p.opens("/report" + look).Form(formtest.To("/report")) }
		require.Equal(t, []string{"1", "2"}, form().Values()["site"], "all are chosen until somebody chooses")

		p.sent(form().Fill("site", "2").Fill("from", "2026-09-01").Fill("to", "2026-09-30").Send())
		require.Equal(t, []int{2}, centre.last.Sites)
		require.Equal(t, 30*24*time.Hour, centre.last.To.Sub(centre.last.From), "the last day is in it")

		refused := form().Fill("site").Fill("from", "2026-09-01").Send()
		require.Equal(t, http.StatusUnprocessableEntity, refused.Status)
		require.Contains(t, refused.Problem(), "choose at least one")
		again := refused.Form(formtest.To("/report")).Values()
		require.Equal(t, "2026-09-01", again.Get("from"), "what was typed is kept")
		require.Empty(t, again["site"])
	}
}

// many is a centre with more sites than one page shows; each second one was never heard.
type many struct{ oneSite }

func (many) Standing() (now sites.Standing) {
	for i := range 250 {
		s := sites.Site{ID: i + 1, Name: fmt.Sprintf("Site %d", i+1), Heard: time.Unix(1e9, 0)}
		if i%2 == 0 {
			s.Heard = time.Time{}
		}
		now.Sites = append(now.Sites, s)
	}
	return now
}

func TestManySitesAreShownInPartsAndTheFirstPageSaysWhichOfAllNeedALook(t *testing.T) {
	stage, err := viewtest.NewStage()
	require.NoError(t, err)
	server, err := dashboard.NewCentre(dashboard.CentreOptions{View: stage, Sites: many{}, Log: zap.NewNop(), Clock: stage.Clock,
		Place: func(*http.Request) (record.Place, bool) { return record.Place{}, false }})
	require.NoError(t, err)
	t.Cleanup(server.Close)
	p := &pages{stage, server, t}
	row := func(n int) string { return fmt.Sprintf(`<span dir="auto">Site %d</span>`, n) }
	for _, c := range []struct {
		path        string
		first, last int
		live        bool
		next        string
	}{
		{"/", 1, 100, true, `href="/?part=2"`},
		{"/?look=red", 1, 100, true, `href="/?look=red&amp;part=2"`},
		{"/?part=2", 101, 200, false, `href="/?part=3"`},
		{"/?part=3", 201, 250, false, `href="/?part=1"`},
		{"/?part=99", 201, 250, false, `href="/?part=2"`},
		{"/?part=none", 1, 100, true, `href="/?part=3"`},
	} {
		page := p.get(c.path).Body.String()
		require.Contains(t, page, "250 sites. 125 need attention.", c.path)
		require.Contains(t, page, "25 more need attention.", c.path)
		require.Contains(t, page, row(c.first), c.path)
		require.Contains(t, page, row(c.last), c.path)
		require.NotContains(t, page, row(c.first-1), c.path)
		require.NotContains(t, page, row(c.last+1), c.path)
		require.Contains(t, page, c.next, c.path)
		require.Equal(t, c.live, strings.Contains(page, "/sites/events"), c.path)
		require.Equal(t, !c.live, strings.Contains(page, "As of "), "what is not kept up to date says so: %s", c.path)
	}
}
