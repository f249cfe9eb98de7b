package dashboard_test

import (
	"context"
	"io"
	"net/http"
	"testing"
	"time"

	"github.com/stretchr/testify/require"
	"go.uber.org/zap"

	"wetside/dashboard"
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
	place := record.Place{View: stage, Reports: viewtest.NewOffice(), Past: viewtest.NewPast(), Name: "Library", Under: "/sites/1"}
	server, err := dashboard.NewCentre(dashboard.CentreOptions{View: stage, Sites: oneSite{}, Accounts: viewtest.NewDoor(),
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
		"POST /join":  anybody,
		"GET /people": "keeper", "POST /people": "keeper", "GET /people/programs": "manager", "POST /people/programs": "manager"}
	for _, route := range p.Patterns() {
		least, told := table[route]
		require.True(t, told, "decide who may use %q, and say so in this table too", route)
		delete(table, route)
		for caller, token := range callers() {
			out := p.knock(route, token, nil)
			turnedAway := out.Code == http.StatusUnauthorized || out.Code == http.StatusForbidden
			require.Equal(t, expected(caller, least), !turnedAway, "%s by %s: %d", route, caller, out.Code)
		}
	}
	require.Empty(t, table, "these routes are gone")
}
