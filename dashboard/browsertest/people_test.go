//go:build browser

package browsertest_test

import (
	"net/http/httptest"
	"strings"
	"testing"
	"time"

	"github.com/chromedp/cdproto/emulation"
	"github.com/chromedp/chromedp"
	"github.com/stretchr/testify/require"
	"go.uber.org/zap"

	"wetside/daemon/people"
	"wetside/dashboard"
	"wetside/dashboard/viewtest"
)

// newGuardedSite is a site on which people sign in.
func newGuardedSite(t *testing.T) *site {
	t.Helper()
	stage, err := viewtest.NewStage()
	require.NoError(t, err)
	stage.Begin()
	s := &site{taking: takes(stage), t: t, door: viewtest.NewAccounts(t)}
	s.pages, err = dashboard.New(dashboard.Options{View: s.taking, Timers: stage, Reports: viewtest.NewReports(), Accounts: s.door,
		Fingerprint: "AB:CD:EF:01", Log: zap.NewNop(), Clock: stage.Clock})
	require.NoError(t, err)
	s.server = httptest.NewServer(s)
	t.Cleanup(func() { s.pages.Close(); s.server.CloseClientConnections(); s.server.Close() })
	s.keepShowing()
	return s
}

// onPaper requires that what is given on paper is printed, black on white, with nothing to press and nothing of others.
func (p *tab) onPaper(name, words string, others ...string) {
	p.t.Helper()
	require.NotEmpty(p.t, words)
	call(p, emulation.SetEmulatedMedia, emulation.SetEmulatedMediaParams{Media: "print"})
	require.Contains(p.t, p.text("main"), words, name)
	for _, other := range others {
		require.NotContains(p.t, p.text("main"), other, name)
	}
	require.Equal(p.t, "rgb(0, 0, 0)", value[string](p, `getComputedStyle(document.querySelector("main")).color`), name)
	require.Zero(p.t, value[int](p,
		`[...document.querySelectorAll("main :is(button,.button)")].filter(e => e.getClientRects().length).length`))
	p.shoot("page-"+name+"-paper", true)
	call(p, emulation.SetEmulatedMedia, emulation.SetEmulatedMediaParams{})
}

func TestSomebodySignsInActsAndSignsOut(t *testing.T) {
	s := newGuardedSite(t)
	p := open(t, browser(t), s.host(), benches()[0])
	p.expect("401", "403", "422")
	p.visit(s.server.URL + "/rooms/north/baths?look=red")
	requireRed(t, p.shoot("sign-in-red", true), "the page of signing in")
	requireFits(p)
	p.keepsToWCAG("sign-in")
	n := newcomer{tab: p}
	n.types("#pin", "0000")
	n.presses(`form:first-of-type button[type=submit]`, true)
	require.Contains(t, p.text(".problem"), "do not belong together")
	requireRed(t, p.shoot("sign-in-refused-red", true), "the refusal")
	p.run(chromedp.Click(`input[name=name][value=Vera]`))
	n.types("#pin", viewtest.PIN)
	n.presses(`form:first-of-type button[type=submit]`, true)
	require.Contains(t, p.text(".caller"), "Vera")
	require.Less(t, value[float64](p, `document.querySelector(".masthead-row").getBoundingClientRect().height`), 130.0,
		"whoever is signed in, the head of a page is two rows on a phone")
	require.Empty(t, value[[]string](p, broken))
	requireRed(t, p.shoot("signed-in-red", true), "the page of baths")
	require.True(t, value[bool](p, `[...document.querySelectorAll("input[name=who]")].every(i => i.offsetParent === null)`),
		"nobody is asked for a name twice")

	p.visit(s.server.URL + "/rooms/north/air")
	p.run(chromedp.Click(`section:first-of-type summary`))
	n.types(`input[name=complaint]`, "smells of fixer")
	n.presses(`form:has(input[name=complaint]) button[type=submit]`, true)
	require.Len(t, s.Commands(), 1)
	require.Equal(t, "Vera", s.Commands()[0].Person)

	p.visit(s.server.URL + "/people")
	require.Contains(t, p.text("main"), "This needs the role keeper or above")
	requireRed(t, p.shoot("forbidden", true), "a refusal is red")
	p.visit(s.server.URL + "/rooms/north/baths")
	n.presses(`.caller summary`, false)
	n.presses(`.caller button`, true)
	p.visit(s.server.URL + "/rooms/north/baths")
	require.Contains(t, p.text("h1"), "Sign in")
	p.blameless()
}

func TestAKeeperInvitesSomebodyWhoJoins(t *testing.T) {
	s := newGuardedSite(t)
	p := open(t, browser(t), s.host(), benches()[1])
	p.expect("401")
	p.visit(s.server.URL + "/sign-in?look=day&next=/people")
	n := newcomer{tab: p}
	p.shoot("sign-in-day", true)
	n.types("#name", "Kim")
	n.types("#password", viewtest.Password)
	n.presses(`form:last-of-type button[type=submit]`, true)
	require.Contains(t, p.text("h1"), "People")
	p.shoot("people-day", true)
	p.keepsToWCAG("people")
	p.visit(s.server.URL + "/people")
	p.run(chromedp.Click(`main > details summary`))
	n.types(`main > details input[name=name]`, "Nora")
	p.run(chromedp.Click(`main > details input[value=instructor]`))
	n.presses(`main > details button[type=submit]`, true)
	require.Contains(t, p.text(".receipt"), s.door.Code)
	p.onPaper("invitation", s.door.Code, "Vera")
	p.visit(s.server.URL + "/people?look=red")
	requireRed(t, p.shoot("people-red", true), "the page of people")
	requireFits(p)
	p.visit(s.server.URL + "/join?look=day")
	n.types("#code", s.door.Code)
	n.presses(`button[type=submit]`, true)
	require.Contains(t, p.text("h2"), "Nora, as instructor")
	p.shoot("join-day", true)
	p.keepsToWCAG("join")
	n.types("#password", "other invented words")
	n.types("#again", "other invented words")
	n.presses(`button[type=submit]`, true)
	require.Contains(t, p.text(".receipt"), "Password saved.")
	require.Equal(t, "Nora", value[string](p, `document.getElementById("name").value`), "the name need not be typed again")
	p.blameless()
}

// TestSomebodySetsUpAnAppAndGivesItsCode does so in both looks, one on a phone and one in the lab.
func TestSomebodySetsUpAnAppAndGivesItsCode(t *testing.T) {
	b := browser(t)
	for i, look := range []string{"red", "day"} {
		s := newGuardedSite(t)
		p := open(t, b, s.host(), benches()[i])
		p.expect("401", "422")
		n := newcomer{tab: p}
		shows := func(name string) {
			t.Helper()
			picture := p.shoot(name+"-"+look, true)
			if look == "red" {
				requireRed(t, picture, name)
			}
			requireFits(p)
			p.keepsToWCAG(name)
		}
		signsIn := func() {
			t.Helper()
			p.visit(s.server.URL + "/sign-in?next=/second-step?look=" + look + "&look=" + look)
			n.types("#name", "Kim")
			n.types("#password", viewtest.Password)
			n.presses(`form:last-of-type button[type=submit]`, true)
		}
		signsIn()
		shows("second-step")
		n.types("#password", viewtest.Password)
		n.presses(`main form button[type=submit]`, true)
		shows("second-step-app")
		require.True(t, value[bool](p, `document.querySelector(".report-square").getBoundingClientRect().width >= 200`), "for a camera")
		n.types("#code", "000000")
		n.presses(`main form button[type=submit]`, true)
		require.Contains(t, p.text(".problem"), "code is not valid")
		key := strings.ReplaceAll(p.text("main form .app-key"), " ", "")
		app := func() string {
			s.door.Clock.Advance(time.Minute) // each code counts once
			code, err := people.AppCode(key, s.door.Clock.Now().Wall)
			require.NoError(t, err)
			return code
		}
		n.types("#code", app())
		n.presses(`main form button[type=submit]`, true)
		require.Contains(t, p.text("h1"), "Keep these codes")
		shows("second-step-recovery")
		p.onPaper("recovery", p.text(".recovery li"))
		n.presses(`main a.button`, true)
		require.Contains(t, p.text("h2"), "Set up since")
		n.presses(`.caller summary`, false)
		n.presses(`.caller button`, true)
		signsIn()
		require.Contains(t, p.text("h1"), "Code from your app")
		shows("sign-in-code")
		n.types("#code", app())
		n.presses(`main form button[type=submit]`, true)
		require.Contains(t, p.text(".caller"), "Kim")
		p.blameless()
	}
}
