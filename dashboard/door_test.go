package dashboard_test

import (
	"net/http"
	"net/http/httptest"
	"net/url"
	"regexp"
	"strings"
	"testing"

	"github.com/stretchr/testify/require"

	"wetside/dashboard"
	"wetside/dashboard/formtest"
	"wetside/dashboard/viewtest"
	"wetside/dashboard/web"
	"wetside/rules/access"
)

// signIn sends the form of signing in from an address.
func (p *pages) signIn(from string, form url.Values, headers ...string) *httptest.ResponseRecorder {
	p.t.Helper()
	r := httptest.NewRequest(http.MethodPost, "/sign-in", strings.NewReader(form.Encode()))
	r.RemoteAddr = from
	r.Header.Set("Content-Type", "application/x-www-form-urlencoded")
	for i := 0; i+1 < len(headers); i += 2 {
		r.Header.Set(headers[i], headers[i+1])
	}
	out := httptest.NewRecorder()
	p.ServeHTTP(out, r)
	return out
}

// password is the form that asks for a password, with Kim's.
func (p *pages) password(address string) *formtest.Form {
	p.t.Helper()
	return p.opens(address).Form(formtest.Having("password")).FillIn("name", "Kim", "password", viewtest.Password)
}

func TestASessionIsKeptWhereNoScriptReachesIt(t *testing.T) {
	p := guarded(t, nil)
	out := p.posts(p.password("/sign-in?next=/people"))
	require.Equal(t, http.StatusSeeOther, out.Code)
	require.Equal(t, "/people", out.Header().Get("Location"))
	cookie := out.Result().Cookies()[0]
	require.True(t, cookie.HttpOnly)
	require.Equal(t, http.SameSiteLaxMode, cookie.SameSite)
	require.Equal(t, "/", cookie.Path)
}

func TestSigningInLeadsToThisSiteAlone(t *testing.T) {
	p := guarded(t, nil)
	for _, next := range []string{"https://evil.example/", "//evil.example", `/\evil.example`, "javascript:alert(1)", "", "\x00",
		"/\t/evil.example"} {
		out := p.posts(p.password("/sign-in").Forge("a link of another site says where to go on", "next", next))
		to, err := url.Parse(out.Header().Get("Location"))
		require.NoError(t, err)
		require.Empty(t, to.Host, next)
		require.Regexp(t, `^/([^/\\]|$)`, out.Header().Get("Location"), next)
	}
}

func TestAPINIsAskedForOnTheLabComputerAlone(t *testing.T) {
	p := guarded(t, nil)
	form := formtest.Forged("name", "Vera", "pin", viewtest.PIN) // no page that is read elsewhere asks for a PIN
	require.Equal(t, http.StatusSeeOther, p.signIn("127.0.0.1:1000", form).Code)
	require.Equal(t, http.StatusUnprocessableEntity, p.signIn("192.0.2.7:1000", form).Code)
	for _, header := range []string{"X-Forwarded-For", "Forwarded", "Via", "X-Real-Ip"} {
		require.Equal(t, http.StatusUnprocessableEntity, p.signIn("127.0.0.1:1000", form, header, "192.0.2.7").Code,
			"what was passed on is not from here")
	}
}

func TestARefusedSignInGivesTheNameBackAndNeverThePassword(t *testing.T) {
	page := guarded(t, nil).password("/sign-in").Fill("password", "a wrong invented guess").Send()
	require.Equal(t, "Kim", page.Form(formtest.Having("password")).Values().Get("name"))
	require.NotContains(t, page.Source, "invented guess")
	require.Contains(t, page.Source, "background:#000", "whoever is refused may stand in the dark")
}

// FuzzDoor knocks with any cookie, header, name and address to be led to.
func FuzzDoor(f *testing.F) {
	f.Add("keeper", "Bearer x", "Kim", "/people")
	f.Add("a=b; c", "Basic Og==", "\x00", "//evil.example")
	f.Add("keepe", "BeArer r", "", "") // two halves open nothing
	door := viewtest.NewAccounts(f)
	p := guarded(f, func(o *dashboard.Options) { o.Accounts = door })
	f.Fuzz(func(t *testing.T, cookie, authorization, name, next string) {
		r := httptest.NewRequest(http.MethodPost, "/sign-in", strings.NewReader(formtest.Forged("name", name, "password", viewtest.Password,
			"next", next).Encode()))
		r.Header.Set("Content-Type", "application/x-www-form-urlencoded")
		r.Header["Cookie"], r.Header["Authorization"] = []string{"wetside=" + cookie}, []string{authorization}
		out := httptest.NewRecorder()
		p.ServeHTTP(out, r)
		if out.Code == http.StatusSeeOther && !strings.HasPrefix(out.Header().Get("Location"), "/") ||
			strings.HasPrefix(out.Header().Get("Location"), "//") {
			t.Fatalf("%q leads to %q", next, out.Header().Get("Location"))
		}
		look := httptest.NewRequest(http.MethodGet, "/people", nil)
		look.Header["Cookie"], look.Header["Authorization"] = r.Header["Cookie"], r.Header["Authorization"]
		out = httptest.NewRecorder()
		p.ServeHTTP(out, look)
		known, _ := door.Known(web.KeyOf(look))
		named := regexp.MustCompile("keeper|Kim").MatchString(cookie + " " + authorization)
		if out.Code == http.StatusOK && (!named || known.Role != access.Keeper) {
			t.Fatalf("cookie %q and %q open the page of people", cookie, authorization)
		}
	})
}
