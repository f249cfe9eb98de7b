package sites_test

import (
	"context"
	"net/http"
	"net/http/httptest"
	"slices"
	"testing"
	"time"

	"github.com/stretchr/testify/require"
	"go.uber.org/zap"

	"wetside/dashboard"
	"wetside/dashboard/formtest"
	"wetside/dashboard/viewtest"
	"wetside/rules/access"
)

// TestNobodySeesASiteThatIsNotTheirs asks for everything that a centre answers as three people.
func TestNobodySeesASiteThatIsNotTheirs(t *testing.T) {
	d, door := newDesk(t), viewtest.NewAccounts(t)
	d.site("Library basement").Building = "Library"
	d.site("Annex")
	d.over.Look(t.Context())
	var err error
	d.pages, err = dashboard.NewCentre(dashboard.CentreOptions{View: d.over.View(), Sites: d.over, Place: d.over.Place, Accounts: door,
		Log: zap.NewNop(), Clock: d.clock})
	require.NoError(t, err)
	t.Cleanup(d.pages.Close)
	ask := func(path string) (int, string) {
		ctx, end := context.WithTimeout(t.Context(), 300*time.Millisecond) // of the stream
		defer end()
		if path != "/sites/events" {
			ctx = t.Context()
		}
		r := httptest.NewRequestWithContext(ctx, http.MethodGet, path, nil)
		r.AddCookie(&http.Cookie{Name: "wetside", Value: "Kim"})
		out := httptest.NewRecorder()
		d.pages.ServeHTTP(out, r)
		return out.Code, out.Body.String()
	}
	const days = "&from=2026-10-12&to=2026-10-18"
	of := map[string][]string{"Library basement": {"/sites/1/weeks", "/sites/1/report", "/report?site=1" + days,
		"/report/report.pdf?site=1" + days, "/report/report.zip?site=1" + days},
		"Annex": {"/sites/2/weeks", "/sites/2/report", "/report?site=2" + days, "/report/report.pdf?site=2" + days,
			"/report/report.zip?site=2" + days}}
	for sees, want := range map[access.Sites]struct {
		shown []string
		sum   string
	}{
		"":                 {nil, "There is no site that you may see"},
		"building Library": {[]string{"Library basement"}, "1 site. 1 needs attention."},
		"site Annex":       {[]string{"Annex"}, "1 site. 1 needs attention."},
		access.AllSites:    {[]string{"Library basement", "Annex"}, "2 sites. 2 need attention."},
	} {
		require.NoError(t, door.ShowSites(t.Context(), access.Person{Name: "Kim", Sites: sees}))
		for _, list := range []string{"/", "/sites/events", "/report"} {
			code, text := ask(list)
			require.Equal(t, http.StatusOK, code, "%s: %s", list, text)
			for name := range of {
				if slices.Contains(want.shown, name) {
					require.Contains(t, text, name, "%s: %s", sees, list)
				} else {
					require.NotContains(t, text, name, "%s: %s", sees, list)
				}
			}
			if list != "/report" {
				require.Contains(t, text, want.sum)
			}
		}
		for name, paths := range of {
			for _, path := range paths {
				code, text := ask(path)
				require.Equal(t, slices.Contains(want.shown, name), code == http.StatusOK, "%s: %s: %d %s", sees, path, code, text)
			}
		}
		code, text := ask("/report/report.zip?site=1&site=2" + days)
		require.Equal(t, sees == access.AllSites, code == http.StatusOK, "%s: one site among several: %s", sees, text)
	}
}

func TestAKeeperSaysWhoSeesWhichSites(t *testing.T) {
	d, door := newDesk(t), viewtest.NewAccounts(t)
	pages, err := dashboard.NewCentre(dashboard.CentreOptions{View: d.over.View(), Sites: d.over, Place: d.over.Place, Accounts: door,
		Log: zap.NewNop(), Clock: d.clock})
	require.NoError(t, err)
	t.Cleanup(pages.Close)
	b := formtest.On(t, pages)
	list := b.Open("/sign-in?next=/people&look=day").Form(formtest.Having("password")).FillIn("name", "Kim", "password",
		viewtest.Password).Send()
	about := func(act string) formtest.Which {
		return func(f *formtest.Form) bool { return formtest.Doing(act)(f) && formtest.Having("alarm", "Vera")(f) }
	}
	list.Says("sees no site")
	list = list.Form(about("show-sites")).Fill("sites", "site  Annex; building Library").Send()
	list.Says("Vera can now see: building Library; site Annex.")
	list.Form(about("show-sites")).Fill("sites", "Annex").Send().Says("names no sites")
	list.Form(formtest.Doing("invite")).FillIn("name", "Nora", "role", "manager", "sites", "all").Send().Says("Give Nora this code")
	sees := map[string]access.Sites{}
	for _, m := range door.People() {
		sees[m.Name] = m.Sites
	}
	require.Equal(t, access.Sites("building Library; site Annex"), sees["Vera"])
	require.Equal(t, access.AllSites, sees["Nora"])
}
