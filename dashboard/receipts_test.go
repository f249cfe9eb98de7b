package dashboard_test

import (
	"io"
	"net/http"
	"net/http/httptest"
	"net/url"
	"strings"
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"wetside/dashboard"
	"wetside/dashboard/formtest"
	"wetside/dashboard/viewtest"
	"wetside/rules/access"
)

// as asks for an address with the session of somebody; a form makes it a post.
func (p *pages) as(session, path string, form url.Values) *httptest.ResponseRecorder {
	p.t.Helper()
	method := http.MethodGet
	if form != nil {
		method = http.MethodPost
	}
	r := httptest.NewRequest(method, path, strings.NewReader(form.Encode()))
	if form != nil {
		r.Header.Set("Content-Type", "application/x-www-form-urlencoded")
	}
	if session != "" {
		r.AddCookie(&http.Cookie{Name: "wetside", Value: session})
	}
	out := httptest.NewRecorder()
	p.ServeHTTP(out, r)
	return out
}

// in is a browser in which somebody has signed in.
func (p *pages) in(session string) *formtest.Browser {
	p.t.Helper()
	return formtest.On(p.t, http.HandlerFunc(func(w http.ResponseWriter, r *http.Request) {
		r.AddCookie(&http.Cookie{Name: "wetside", Value: session})
		p.ServeHTTP(w, r)
	}))
}

// someToken is one that no form has.
const someToken = "ABCDEFGHIJKLMNOPQRSTUVWXYZ"

// inviting is what the keeper Kim sends to invite somebody.
func (p *pages) inviting() url.Values {
	p.t.Helper()
	return p.in("Kim").Open("/people").Form(formtest.Doing("invite")).FillIn("name", "Nora", "role", "instructor").Values()
}

// behind is a dashboard with every page, and the door before it.
func behind(t *testing.T) (*pages, *viewtest.Accounts) {
	door := viewtest.NewAccounts(t)
	return guarded(t, func(o *dashboard.Options) { o.Accounts = door }), door
}

func TestACodeIsShownOnceAndOnlyToTheSessionThatAskedForTheCode(t *testing.T) {
	p, door := behind(t)
	form := p.inviting()
	sent := p.as("Kim", "/people", form)
	require.Equal(t, http.StatusSeeOther, sent.Code)
	address := sent.Header().Get("Location")
	require.NotContains(t, address, door.Code)
	for _, other := range []string{"", "volunteer", "keeper"} { // "keeper" is a keeper's session too, another one
		require.NotContains(t, p.as(other, address, nil).Body.String(), door.Code, "session %q", other)
	}
	for _, page := range []string{"/rooms/north/baths", "/rooms/north/air", "/shelf", "/duties", "/screen", "/first-run", "/keeper",
		"/rooms/north/set-up"} {
		require.NotContains(t, p.as("Kim", page+"?done="+form.Get("token"), nil).Body.String(), door.Code, page)
	}
	require.Contains(t, p.as("Kim", address, nil).Body.String(), door.Code)
	require.NotContains(t, p.as("Kim", address, nil).Body.String(), door.Code, "shown once")
}

func TestACodeThatNobodyFetchesIsForgotten(t *testing.T) {
	p, door := behind(t)
	address := p.as("Kim", "/people", p.inviting()).Header().Get("Location")
	p.Clock.Advance(3 * time.Minute)
	require.NotContains(t, p.as("Kim", address, nil).Body.String(), door.Code)
}

func TestAPasswordCodeIsNeverPartOfAnAddress(t *testing.T) {
	p, door := behind(t)
	_, err := door.Invite(t.Context(), access.Person{Name: "Nora", Role: access.Instructor})
	require.NoError(t, err)
	require.NotContains(t, p.as("", "/join?code="+door.Code, nil).Body.String(), "Nora", "an address stays in the browser's history")
	typed := p.opens("/join").Form(formtest.Having("code")).Fill("code", door.Code).Send()
	require.Equal(t, http.StatusOK, typed.Status)
	typed.Says("Nora, as instructor")
	require.Equal(t, "/join", typed.Address.RequestURI())
}

func TestAStreamEndsWithTheRightsByWhichItBegan(t *testing.T) {
	for change, done := range map[string]func(*viewtest.Accounts) error{
		"revoked": func(d *viewtest.Accounts) error { return d.Revoke(t.Context(), "Vera") },
		"another role": func(d *viewtest.Accounts) error {
			return d.ChangeRole(t.Context(), access.Person{Name: "Vera", Role: access.Keeper})
		},
		"other sites": func(d *viewtest.Accounts) error {
			return d.ShowSites(t.Context(), access.Person{Name: "Vera", Sites: access.AllSites})
		},
	} {
		t.Run(change, func(t *testing.T) { streamEnds(t, done) })
	}
}

func streamEnds(t *testing.T, change func(*viewtest.Accounts) error) {
	p, door := behind(t)
	server := httptest.NewServer(p)
	defer server.Close()
	r, err := http.NewRequestWithContext(t.Context(), http.MethodGet, server.URL+"/rooms/north/events", nil)
	require.NoError(t, err)
	r.AddCookie(&http.Cookie{Name: "wetside", Value: "Vera"})
	answer, err := http.DefaultClient.Do(r)
	require.NoError(t, err)
	defer answer.Body.Close()
	_, err = answer.Body.Read(make([]byte, 1))
	require.NoError(t, err, "the stream runs")
	require.NoError(t, change(door))
	ended := make(chan error, 1)
	go func() {
		_, err := io.Copy(io.Discard, answer.Body)
		ended <- err
	}()
	select {
	case err := <-ended:
		require.NoError(t, err)
	case <-time.After(10 * time.Second):
		require.Fail(t, "the stream goes on")
	}
	http.DefaultClient.CloseIdleConnections()
}
