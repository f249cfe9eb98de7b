package daemon_test

import (
	"net"
	"net/http"
	"regexp"
	"slices"
	"strings"
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"wetside/daemon/history"
	"wetside/daemon/house"
	"wetside/daemon/house/issuertest"
	"wetside/daemon/people"
	"wetside/dashboard/formtest"
	"wetside/rules/access"
)

// atTheDoor is a place where people sign in, seen on its own computer in one look.
type atTheDoor struct {
	*crawl
	base string
	sent map[string]bool
}

// sends fills the one form of a page that is so, presses its button and gives the page after it.
func (d *atTheDoor) sends(address string, which formtest.Which, typed ...string) *formtest.Page {
	d.t.Helper()
	page := d.Open(at(address, d.look))
	d.note(page)
	form := page.Form(which)
	d.sent[formName(page, form)] = true
	after := form.FillIn(typed...).Send()
	d.note(after)
	require.Empty(d.t, after.Problem())
	require.Less(d.t, after.Status, 400, "%s", after.Text())
	require.Equal(d.t, d.look == "red", strings.Contains(after.Source, "look-red.css"), "the answer comes in the look of the form: %s",
		after.Address)
	return after
}

// of is a form of the page of people for an act on somebody.
func of(act, name string) formtest.Which {
	return func(f *formtest.Form) bool {
		return formtest.Doing(act)(f) && (name == "" || formtest.Having("alarm", name)(f))
	}
}

// setsUpAnApp is whoever is signed in setting up an app for codes.
func (d *atTheDoor) setsUpAnApp() {
	d.t.Helper()
	page := d.sends("/second-step", formtest.To("/second-step"), "password", "four invented words")
	key := regexp.MustCompile(`([A-Z2-7]{4} ){7}[A-Z2-7]{4}`).FindString(page.Text())
	code, err := people.AppCode(strings.ReplaceAll(key, " ", ""), time.Now())
	require.NoError(d.t, err)
	after := page.Form(formtest.To("/sign-in/code")).Fill("code", code).Send()
	after.Says("Keep these codes")
	require.Len(d.t, regexp.MustCompile(`([A-Z2-7]{4}-){3}[A-Z2-7]{4}`).FindAllString(after.Text(), -1), 10)
	after.Follow("Continue").Says("10 recovery codes are left.")
}

// byToken is how a program with a token is answered.
func (d *atTheDoor) byToken(token string, paths ...string) (codes []int) {
	d.t.Helper()
	for _, path := range paths {
		r, err := http.NewRequestWithContext(d.t.Context(), http.MethodGet, d.base+path, nil)
		require.NoError(d.t, err)
		r.Header.Set("Authorization", "Bearer "+token)
		answer, err := http.DefaultClient.Do(r)
		require.NoError(d.t, err)
		require.NoError(d.t, answer.Body.Close())
		codes = append(codes, answer.StatusCode)
	}
	return codes
}

// TestEveryFormAtTheDoorIsSentAsABrowserSendsIt sends the forms of the pages that a place without
// sign-in does not show, in both looks.
func TestEveryFormAtTheDoorIsSentAsABrowserSendsIt(t *testing.T) {
	code := regexp.MustCompile(`[A-Z2-7]{5}(-[A-Z2-7]{5})+-[A-Z2-7]{6}`)
	for _, look := range looks() {
		t.Run(look, func(t *testing.T) {
			o := options(t)
			o.Config.Access.SignIn = true
			first, err := people.NewDesk(o.Config.Data, people.By{Name: "command line", At: time.Now()}).Invite(t.Context(),
				access.Person{Name: "Kim Example", Role: access.Keeper})
			require.NoError(t, err)
			base := running(t, o).URL()
			d := &atTheDoor{newCrawl(t, formtest.At(t, base), look), base, map[string]bool{}}
			joins := func(code, name string) {
				d.sends("/join", formtest.Having("code"), "code", code).Form(formtest.Having("again")).
					FillIn("password", "four invented words", "again", "four invented words", "pin", "271828").Send().Says("Password saved.")
			}
			joins(first, "Kim Example")
			d.sends("/sign-in?next=/people", formtest.Having("password"), "name", "Kim Example", "password",
				"four invented words").Says("Kim Example, keeper")
			d.sends("/people", formtest.To("/sign-out"))
			d.sends("/sign-in?next=/people", formtest.Having("pin"), "name", "Kim Example", "pin", "271828").Says("Kim Example, keeper")
			joins(code.FindString(d.sends("/people", of("invite", ""), "name", "Nora", "role", "volunteer").Text()), "Nora")
			d.sends("/people", formtest.To("/sign-out"))
			d.sends("/sign-in?next=/second-step", formtest.Having("password"), "name", "Nora", "password", "four invented words")
			d.setsUpAnApp()
			d.sends("/second-step", formtest.To("/sign-out"))
			d.sends("/sign-in?next=/people", formtest.Having("pin"), "name", "Kim Example", "pin", "271828")
			d.sends("/people", of("drop-second-step", "Nora")).Says("Nora signs in without a code now")
			d.sends("/people", of("role", "Nora"), "role", "instructor").Says("Nora is now instructor.")
			require.Regexp(t, code, d.sends("/people", of("reset-password", "Nora")).Text())
			d.sends("/people", of("revoke", "Nora")).Says("Nora can no longer sign in")
			made := d.sends("/people/programs", of("make-token", ""), "name", "Wall display", "scope", "programs")
			token := regexp.MustCompile(`Bearer ([A-Za-z0-9_-]{43})`).FindStringSubmatch(made.Text())
			require.NotNil(t, token, made.Text())
			require.Equal(t, []int{http.StatusOK, http.StatusUnauthorized, http.StatusUnauthorized},
				d.byToken(token[1], "/api/channels", "/metrics", "/people"))
			require.NotContains(t, d.Open(at("/people/programs", look)).Text(), token[1], "a token is shown once")
			d.sends("/people/programs", of("revoke-token", "Wall display")).Says("Wall display can read nothing any more.")
			require.Equal(t, []int{http.StatusUnauthorized}, d.byToken(token[1], "/api/channels"))
			for name, where := range d.forms {
				page, _, _ := strings.Cut(name, ":")
				require.True(t, d.sent[name] || !slices.Contains([]string{"sign-in", "join", "people", "people/programs"}, page),
					"no case sends %s on %s", name, where)
			}
		})
	}
}

// TestPeopleSignInByTheHouseInTheWholeProgram goes from the configuration to the record book.
func TestPeopleSignInByTheHouseInTheWholeProgram(t *testing.T) {
	o := options(t)
	var err error
	o.Listener, err = net.Listen("tcp", "127.0.0.1:0")
	require.NoError(t, err)
	issuer := issuertest.Start(t, func() time.Time { return o.Clock.Now().Wall })
	issuer.SignsIn(issuertest.Person{Subject: "s-1", Name: "Ada Example", Groups: []string{"dark"}})
	o.Config.Access.SignIn = true
	o.Config.Access.House = &house.Options{Name: "Example College", Issuer: issuer.URL, ClientID: issuertest.ClientID,
		Secret: issuertest.Secret, Redirect: "http://" + o.Listener.Addr().String() + "/sign-in/house/back", RoleClaim: "groups",
		NameClaim: "name", Roles: map[string]access.Role{"dark": access.Volunteer}, Every: time.Minute, Bridge: time.Hour}
	b := formtest.At(t, running(t, o).URL())
	b.Open("/rooms/darkroom/air").Follow("Sign in with Example College").Says("Ada Example, volunteer")
	smell := b.Open("/rooms/darkroom/air").Form(formtest.Having("complaint")).Fill("complaint", "smells of fixer").Send()
	require.Empty(t, smell.Problem())
	reader, err := history.OpenReader(t.Context(), history.Options{Dir: o.Config.Data})
	require.NoError(t, err)
	defer reader.Close()
	records, err := reader.Records(t.Context(), history.Query{Kinds: []string{people.KindSignedIn, "complaint"}})
	require.NoError(t, err)
	require.Len(t, records, 2)
	for _, r := range records {
		require.Equal(t, []string{"Ada Example", "volunteer"}, []string{r.Person, r.Role}, r.Kind)
	}
}
