package people_test

import (
	"io"
	"net/http"
	"net/http/cookiejar"
	"net/http/httptest"
	"net/url"
	"slices"
	"strings"
	"testing"
	"time"

	"github.com/stretchr/testify/require"
	"go.uber.org/zap"

	"wetside/daemon/house"
	"wetside/daemon/house/issuertest"
	"wetside/daemon/people"
	"wetside/dashboard"
	"wetside/dashboard/formtest"
	peoplepage "wetside/dashboard/people"
	"wetside/dashboard/viewtest"
	"wetside/dashboard/web"
	"wetside/rules/access"
	"wetside/sensors/clocktest"
)

// college is a place where people sign in by the house too, with all its pages, and its issuer.
type college struct {
	*site
	issuer  *issuertest.Issuer
	pages   *httptest.Server
	browser *formtest.Browser
}

const (
	every  = 5 * time.Minute
	bridge = 4 * time.Hour
)

func ada(groups ...string) issuertest.Person {
	return issuertest.Person{Subject: "s-1", Session: "first", Name: "Ada Example", Groups: groups}
}

func newCollege(t *testing.T) *college {
	t.Helper()
	c := &college{site: &site{t: t, dir: t.TempDir(), clock: clocktest.New(time.Now().UTC().Truncate(time.Second)), book: &book{}}}
	c.issuer = issuertest.Start(t, func() time.Time { return c.clock.Now().Wall })
	var pages http.Handler
	c.pages = httptest.NewServer(http.HandlerFunc(func(w http.ResponseWriter, r *http.Request) { pages.ServeHTTP(w, r) }))
	t.Cleanup(c.pages.Close)
	c.house = &house.Options{Name: "Example College", Issuer: c.issuer.URL, ClientID: issuertest.ClientID, Secret: issuertest.Secret,
		Redirect: c.pages.URL + "/sign-in/house/back", Scopes: []string{"profile"}, RoleClaim: "groups", NameClaim: "name",
		Roles: map[string]access.Role{"dark": access.Volunteer, "teachers": access.Instructor, "techs": access.Keeper}, Every: every,
		Bridge: bridge}
	c.open()
	stage, err := viewtest.NewStage()
	require.NoError(t, err)
	stage.Begin()
	stage.Publish()
	server, err := dashboard.New(dashboard.Options{View: stage, Reports: viewtest.NewReports(), Accounts: c.Roster, Log: zap.NewNop(),
		Clock: stage.Clock})
	require.NoError(t, err)
	t.Cleanup(server.Close)
	pages = server
	c.browser = formtest.At(t, c.pages.URL)
	c.joined("Kim", access.Keeper, "")
	c.issuer.SignsIn(ada("dark", "teachers", "chess"))
	return c
}

// in is the same place within another test, with a browser of its own.
func (c *college) in(t *testing.T) (*college, *formtest.Browser) {
	again, door := *c, *c.site
	door.t, again.site = t, &door
	return &again, formtest.At(t, c.pages.URL)
}

// enters is somebody who presses the button, with the page that it leads to.
func (c *college) enters(b *formtest.Browser) *formtest.Page {
	c.t.Helper()
	return b.Open("/sign-in?next=/rooms/north/air&look=day").Follow("Sign in with Example College")
}

// within says whether somebody is signed in, and as whom.
func within(b *formtest.Browser, who string) bool {
	return strings.Contains(b.Open("/rooms/north/air").Text(), who)
}

// runs keeps the sessions up to date until the test ends.
func (c *college) runs() {
	ended := make(chan struct{})
	ctx := c.t.Context()
	go func() { c.Run(ctx); close(ended) }()
	c.t.Cleanup(func() { <-ended })
}

// soon lets time pass until something is so.
func (c *college) soon(so func() bool) {
	c.t.Helper()
	require.Eventually(c.t, func() bool { c.clock.Advance(time.Second); return so() }, 20*time.Second, 10*time.Millisecond)
}

func TestSomebodySignsInByTheHouseInTheRoleOfTheirGroups(t *testing.T) {
	for _, algorithm := range []string{"RS256", "ES256"} {
		c := newCollege(t)
		c.issuer.Does(issuertest.Wrong{Algorithm: algorithm})
		page := c.enters(c.browser)
		page.Says("Ada Example, instructor")
		require.Equal(t, "/rooms/north/air", page.Address.Path)
		require.Equal(t, "login", c.issuer.Asked().Get("prompt"), "on the lab computer the next person must not be the one before")
		require.Equal(t, http.StatusForbidden, c.browser.Open("/people").Status)
		c.issuer.Rotate()
		other := formtest.At(t, c.pages.URL)
		c.enters(other).Says("Ada Example, instructor")
		last := c.book.entries[len(c.book.entries)-1]
		require.Equal(t, people.KindSignedIn, last.Kind)
		require.JSONEq(t, `{"from":"this computer","with":"Example College"}`, string(last.Content))
		other.Open("/rooms/north/air").Form(formtest.To("/sign-out")).Send()
		require.False(t, within(other, "Ada Example"))
		require.True(t, within(c.browser, "Ada Example"))
	}
}

func TestAnAnswerThatIsNotForThisSignInLetsNobodyIn(t *testing.T) {
	token := func(name string, value any) issuertest.Wrong {
		return issuertest.Wrong{Token: func(c issuertest.Claims) { c[name] = value }}
	}
	answer := func(name, value string) issuertest.Wrong {
		return issuertest.Wrong{Answer: func(v url.Values) { v.Set(name, value) }}
	}
	c := newCollege(t)
	for name, wrong := range map[string]issuertest.Wrong{
		"another audience":        token("aud", "another program"),
		"also another audience":   token("aud", []string{"wetside", "another program"}),
		"another party":           token("azp", "another program"),
		"another nonce":           token("nonce", "of another sign-in"),
		"no nonce":                token("nonce", ""),
		"another issuer":          token("iss", "https://evil.example"),
		"expired":                 token("exp", 1_000_000_000),
		"another access token":    token("at_hash", "AAAAAAAAAAAAAAAAAAAAAA"),
		"not signed":              {Algorithm: "none"},
		"signed by a stranger":    {Foreign: true},
		"another state":           answer("state", "of another sign-in"),
		"no state":                answer("state", ""),
		"no code":                 answer("code", ""),
		"a code of another":       answer("code", "made up"),
		"an answer of another":    answer("iss", "https://evil.example"),
		"refused":                 answer("error", "access_denied"),
		"told of somebody else":   {Info: func(c issuertest.Claims) { c["sub"] = "s-2" }},
		"no role any more":        {Info: func(c issuertest.Claims) { c["groups"] = []string{"chess"} }},
		"no name":                 {Info: func(c issuertest.Claims) { c["name"] = " " }},
		"a name of signs unshown": {Info: func(c issuertest.Claims) { c["name"] = "\u200b\u0007" }},
		"known to nobody":         {Stranger: true},
	} {
		t.Run(name, func(t *testing.T) {
			c, b := c.in(t)
			c.issuer.Does(wrong)
			page := c.enters(b)
			require.GreaterOrEqual(t, page.Status, 400)
			require.NotEmpty(t, page.Problem())
			require.Equal(t, http.StatusUnauthorized, b.Open("/rooms/north/air").Status)
			require.NotContains(t, c.book.kinds(), people.KindSignedIn)
		})
	}
	c.issuer.Does(issuertest.Wrong{})
	c.enters(c.browser).Says("Ada Example, instructor")
}

func TestAHouseThatNeverAnsweredLetsNobodyIn(t *testing.T) {
	c := newCollege(t)
	c.issuer.Does(issuertest.Wrong{Down: true})
	c.enters(c.browser).Says("Example College does not answer")
	c.issuer.Does(issuertest.Wrong{})
	c.clock.Advance(10 * time.Second)
	c.enters(c.browser).Says("Ada Example, instructor")
}

func TestAnAnswerCountsOnceAndInTheBrowserThatBegan(t *testing.T) {
	c := newCollege(t)
	var back string
	jar, err := cookiejar.New(nil)
	require.NoError(t, err)
	first := &http.Client{Jar: jar, CheckRedirect: func(r *http.Request, _ []*http.Request) error {
		if back = r.URL.String(); strings.Contains(back, "/house/back") {
			return http.ErrUseLastResponse
		}
		return nil
	}}
	t.Cleanup(first.CloseIdleConnections)
	open := func(client *http.Client, address string) int {
		answer, err := client.Get(address)
		require.NoError(t, err)
		_, err = io.Copy(io.Discard, answer.Body)
		require.NoError(t, err)
		require.NoError(t, answer.Body.Close())
		return answer.StatusCode
	}
	open(first, c.pages.URL+"/sign-in/house")
	require.Contains(t, back, "/sign-in/house/back?")
	c.browser.Open(back).Says("does not belong to a sign-in that began in this browser")
	require.False(t, within(c.browser, "Ada"), "whoever is sent an answer of another is not signed in as the other")
	open(first, c.pages.URL+"/sign-in/house")
	first.CheckRedirect = nil
	require.NotEqual(t, http.StatusUnauthorized, open(first, back))
	require.NotEqual(t, http.StatusOK, open(first, strings.Replace(back, "code=", "code=x", 1)))
}

func TestWhoeverLeavesTheHouseIsOutAtTheNextQuestion(t *testing.T) {
	for name, leave := range map[string]func(*college){
		"taken out of the groups": func(c *college) { c.issuer.SignsIn(ada("chess")) },
		"signed out everywhere":   func(c *college) { c.issuer.Does(issuertest.Wrong{Revoked: true}) },
		"account closed":          func(c *college) { c.issuer.Does(issuertest.Wrong{Stranger: true}) },
		"another person's token": func(c *college) {
			c.issuer.SignsIn(issuertest.Person{Subject: "s-2", Name: "Bo Example", Groups: []string{"dark"}})
		},
	} {
		t.Run(name, func(t *testing.T) {
			c := newCollege(t)
			c.runs()
			c.enters(c.browser).Says("Ada Example, instructor")
			c.clock.Advance(every - time.Minute)
			leave(c)
			require.True(t, within(c.browser, "Ada Example"), "not asked again yet")
			c.clock.Advance(time.Minute)
			c.soon(func() bool { return !within(c.browser, "Ada Example") })
			c.soon(func() bool { return c.book.kinds()[len(c.book.kinds())-1] == people.KindSignedOut })
		})
	}
}

func TestAnotherRoleHoldsAtTheNextQuestionAndANewNameIsRecorded(t *testing.T) {
	c := newCollege(t)
	c.runs()
	c.enters(c.browser).Says("Ada Example, instructor")
	who := ada("techs")
	who.Name = "Ada Married"
	c.issuer.SignsIn(who)
	c.clock.Advance(every)
	c.soon(func() bool { return within(c.browser, "Ada Married, keeper") })
}

func TestOfSomebodyWhoSignedInTwiceTheRoleIsListedThatTheHouseSaidLast(t *testing.T) {
	c := newCollege(t)
	c.enters(c.browser).Says("Ada Example, instructor")
	c.clock.Advance(time.Minute)
	c.issuer.SignsIn(ada("techs"))
	c.enters(formtest.At(t, c.pages.URL)).Says("Ada Example, keeper")
	for range 50 { // in the order of a map it was now this one, now that
		list := c.People()
		at := slices.IndexFunc(list, func(m peoplepage.Member) bool { return m.House })
		require.Equal(t, access.Keeper, list[at].Role)
	}
}

func TestAHouseThatDoesNotAnswerEndsNoEveningButLetsNobodyNewIn(t *testing.T) {
	c := newCollege(t)
	c.runs()
	c.enters(c.browser).Says("Ada Example, instructor")
	for _, wrong := range []issuertest.Wrong{{Down: true}, {InfoDown: true}} { // the second uses refresh tokens up
		c.issuer.Does(wrong)
		before := c.issuer.Answered()
		c.clock.Advance(every)
		c.soon(func() bool { return c.issuer.Answered() > before+2 })
		require.True(t, within(c.browser, "Ada Example, instructor"))
		require.False(t, within(formtest.At(t, c.pages.URL), "Ada Example"))
		require.Equal(t, wrong.Down, c.enters(formtest.At(t, c.pages.URL)).Status == http.StatusServiceUnavailable, "of the house itself")
		c.issuer.Does(issuertest.Wrong{})
		before = c.issuer.Answered()
		c.clock.Advance(every)
		c.soon(func() bool { return c.issuer.Answered() > before+1 })
		require.True(t, within(c.browser, "Ada Example, instructor"), "it is asked with the token that it gave last")
	}
	own := formtest.At(t, c.pages.URL)
	c.issuer.Does(issuertest.Wrong{Down: true})
	own.Open("/sign-in?next=/people").Form(formtest.Having("password")).FillIn("name", "Kim", "password", password).Send().Says("Kim, keeper")
	c.clock.Advance(bridge + every)
	require.False(t, within(c.browser, "Ada Example"), "nobody stays for ever whom nobody vouches for")
	require.True(t, within(own, "Kim, keeper"))
}

func TestWithoutATokenToAskWithTheSessionEndsWhenTheTokenSaysSo(t *testing.T) {
	c := newCollege(t)
	c.runs()
	c.issuer.Does(issuertest.Wrong{NoRefresh: true})
	c.enters(c.browser).Says("Ada Example, instructor")
	c.clock.Advance(time.Hour - time.Second)
	require.True(t, within(c.browser, "Ada Example"))
	c.clock.Advance(time.Second)
	require.False(t, within(c.browser, "Ada Example"))
}

func TestTheHouseEndsSessionsItself(t *testing.T) {
	c := newCollege(t)
	c.enters(c.browser)
	second := formtest.At(t, c.pages.URL)
	who := ada("dark")
	who.Session = "second"
	c.issuer.SignsIn(who)
	c.enters(second).Says("Ada Example, volunteer")
	third := formtest.At(t, c.pages.URL)
	c.issuer.SignsIn(issuertest.Person{Subject: "s-2", Name: "Bo Example", Groups: []string{"dark"}})
	c.enters(third).Says("Bo Example, volunteer")
	tell := func(change func(issuertest.Claims)) int {
		answer, err := http.Post(c.pages.URL+"/sign-in/house/sign-out", "application/x-www-form-urlencoded",
			strings.NewReader("logout_token="+c.issuer.SignOut(change)))
		require.NoError(t, err)
		defer answer.Body.Close()
		return answer.StatusCode
	}
	for name, change := range map[string]func(issuertest.Claims){
		"an identity token": func(c issuertest.Claims) { c["sub"], c["nonce"] = "s-1", "x" },
		"nobody":            func(issuertest.Claims) {},
		"another program":   func(c issuertest.Claims) { c["sub"], c["aud"] = "s-1", "another program" },
		"no event":          func(c issuertest.Claims) { c["sub"], c["events"] = "s-1", issuertest.Claims{} },
	} {
		require.Equal(t, http.StatusBadRequest, tell(change), name)
	}
	c.issuer.Does(issuertest.Wrong{Foreign: true})
	require.Equal(t, http.StatusBadRequest, tell(func(c issuertest.Claims) { c["sub"] = "s-1" }), "anybody could sign people out")
	c.issuer.Does(issuertest.Wrong{})
	require.True(t, within(c.browser, "Ada Example"))
	require.Equal(t, http.StatusOK, tell(func(c issuertest.Claims) { c["sub"], c["sid"] = "s-1", "first" }))
	require.False(t, within(c.browser, "Ada Example"))
	require.True(t, within(second, "Ada Example"))
	require.Equal(t, http.StatusOK, tell(func(c issuertest.Claims) { c["sub"] = "s-1" }))
	require.False(t, within(second, "Ada Example"))
	require.True(t, within(third, "Bo Example"))
}

func TestTheGroupsOfTheHouseSayWhichSitesOfACentreAreSeen(t *testing.T) {
	c := newCollege(t)
	c.house.Sites = map[string]access.Sites{"teachers": "building Library", "chess": "site Annex", "dean": access.AllSites}
	c.open()
	at, err := c.BeginHouse("/", false)
	require.NoError(t, err)
	answer, err := http.DefaultTransport.RoundTrip(httptest.NewRequest(http.MethodGet, at.Address, nil))
	require.NoError(t, err)
	require.NoError(t, answer.Body.Close())
	back, err := answer.Location()
	require.NoError(t, err)
	in, _, err := c.FinishHouse(t.Context(), peoplepage.Back{Ticket: at.Ticket, Answer: back.Query(), From: far()})
	require.NoError(t, err)
	who, known := c.Known(web.Key{Session: in.Key})
	require.True(t, known)
	require.Equal(t, access.Person{Name: "Ada Example", Role: access.Instructor, Sites: "building Library; site Annex"}, who)
	http.DefaultTransport.(*http.Transport).CloseIdleConnections()
}

func TestTwoPeopleAreNeverRecordedUnderOneName(t *testing.T) {
	c := newCollege(t)
	c.enters(c.browser).Says("Ada Example, instructor")
	for subject, name := range map[string][2]string{"s-3": {"Kim", "Kim (Example College), volunteer"},
		"s-4": {" ada  EXAMPLE", "ada EXAMPLE (Example College), volunteer"}} {
		c.issuer.SignsIn(issuertest.Person{Subject: subject, Name: name[0], Groups: []string{"dark"}})
		c.enters(formtest.At(t, c.pages.URL)).Says(name[1])
	}
	c.issuer.SignsIn(issuertest.Person{Subject: "s-5", Name: "Ada Example", Groups: []string{"dark"}})
	c.enters(formtest.At(t, c.pages.URL)).Says("Ada Example (Example College 2), volunteer")
	_, err := c.Invite(c.as("Kim", access.Keeper), access.Person{Name: "Ada Example", Role: access.Volunteer})
	require.ErrorContains(t, err, "signs in without an account here")
}

func TestAKeeperTakesSomebodyOfTheHouseOffAndLetsThemInAgain(t *testing.T) {
	c := newCollege(t)
	c.enters(c.browser).Says("Ada Example, instructor")
	keeper := formtest.At(t, c.pages.URL)
	list := keeper.Open("/sign-in?next=/people&look=day").Form(formtest.Having("password")).FillIn("name", "Kim", "password", password).Send()
	list.Says("signed in now with Example College")
	about := func(act string) formtest.Which {
		return func(f *formtest.Form) bool {
			return formtest.Doing(act)(f) && formtest.Having("alarm", "Ada Example")(f)
		}
	}
	list = list.Form(about("revoke")).Send()
	list.Says("access taken away here")
	require.False(t, within(c.browser, "Ada Example"))
	c.enters(c.browser).Says("A keeper took your access away")
	list.Form(about("let-in-again")).Send().Says("Ada Example is let in again.")
	c.enters(c.browser).Says("Ada Example, instructor")
}
