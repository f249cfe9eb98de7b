package daemon_test

import (
	"net/http"
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"wetside/daemon/config"
	"wetside/daemon/people"
	"wetside/dashboard/formtest"
	"wetside/rules"
	"wetside/rules/access"
)

// guarded is a place where people sign in, with a browser of each who has: a volunteer and an instructor.
func guarded(t testing.TB) (s *north, volunteer, instructor *formtest.Browser) {
	t.Helper()
	codes := map[access.Role]string{}
	s = newNorth(t, func(c *config.Config) {
		c.Access.SignIn, c.Access.Session = true, 100*365*24*time.Hour // a browser takes its cookies away by its own clock
		desk := people.NewDesk(c.Data, people.By{Name: "command line", At: time.Date(2026, 1, 15, 19, 0, 0, 0, time.UTC)})
		for _, role := range []access.Role{access.Volunteer, access.Instructor} {
			code, err := desk.Invite(t.Context(), access.Person{Name: "The " + string(role), Role: role})
			require.NoError(t, err)
			codes[role] = code
		}
	})
	in := func(role access.Role) *formtest.Browser {
		const password = "four invented words"
		b := s.browser()
		b.Open("/join").Form(formtest.Having("code")).Fill("code", codes[role]).Send().Form(formtest.Having("again")).
			FillIn("password", password, "again", password).Send().Says("Password saved.")
		b.Open("/sign-in").Form(formtest.Having("password")).FillIn("name", "The "+string(role), "password", password).Send()
		return b
	}
	return s, in(access.Volunteer), in(access.Instructor)
}

func TestAReceiptIsForWhoSentTheForm(t *testing.T) {
	s, volunteer, instructor := guarded(t)
	complaining := func(text string) *formtest.Form {
		return volunteer.Open(alarmsPage).Form(formtest.Doing("complain")).Fill("complaint", text)
	}
	const receipt, problem = `class="receipt"`, `class="problem"`
	form := complaining("smells of fixer").Forge("somebody writes another name", "who", "Somebody Else")
	s.sent(form.Send())
	address := form.Send().Address.RequestURI() // pressed twice
	said, by := lastOf[rules.ReportComplaint](s, rules.ReportComplaint{}.Kind())
	require.Equal(t, []string{"smells of fixer", "The volunteer", "volunteer"}, []string{said.What, by.Person, by.Role})
	for range 2 {
		require.Contains(t, volunteer.Open(address).Source, receipt)
	}
	require.NotContains(t, instructor.Open(address).Source, receipt)
	require.NotContains(t, volunteer.Open(baths+"?done="+form.Values().Get("token")).Source, receipt, "on another page")

	theirs := instructor.Open(alarmsPage).Form(formtest.Doing("complain")).FillIn("complaint", "smells of fixer")
	require.NotEmpty(t, theirs.Forge("somebody else's form", "token", form.Values().Get("token")).Send().Problem())
	other := form.Fill("complaint", "smells of the drain").Send()
	require.Contains(t, other.Problem(), "already sent once, with other contents")
	require.Equal(t, "smells of the drain", other.Form(formtest.Doing("complain")).Values().Get("complaint"), "what was typed is there")
	require.Len(t, s.Kept(said.Kind()), 1)

	unknown := complaining("smells of the lamp")
	token := unknown.Values().Get("token")
	refused := s.posts(unknown) // by nobody who has signed in
	require.Equal(t, http.StatusUnauthorized, refused.Code)
	require.Contains(t, refused.Body, "again="+token)
	again := volunteer.Open(alarmsPage + "?again=" + token).Form(formtest.Doing("complain"))
	require.Equal(t, "smells of the lamp", again.Values().Get("complaint"), "what was typed before signing in is there again")
	require.Len(t, s.Kept(said.Kind()), 1)

	back := complaining("").Send().Address.RequestURI()
	require.Contains(t, back, "again=")
	require.Contains(t, volunteer.Open(back).Source, problem)
	require.NotContains(t, instructor.Open(back).Source, problem, "a form that came back is shown to its sender alone")
}
