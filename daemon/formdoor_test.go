package daemon_test

import (
	"regexp"
	"slices"
	"strings"
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"wetside/daemon/people"
	"wetside/dashboard/formtest"
	"wetside/rules/access"
)

// atTheDoor is a place where people sign in, seen on its own computer in one look.
type atTheDoor struct {
	*crawl
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
	require.Equal(d.t, d.look == "red", strings.Contains(after.Source, "look-red.css"), "the answer comes in the look of the form: %s", after.Address)
	return after
}

// of is a form of the page of people for an act on somebody.
func of(act, name string) formtest.Which {
	return func(f *formtest.Form) bool {
		return formtest.Doing(act)(f) && (name == "" || formtest.Having("alarm", name)(f))
	}
}

// TestEveryFormAtTheDoorIsSentAsABrowserSendsIt sends the forms of the pages that a place without
// sign-in does not show, in both looks.
func TestEveryFormAtTheDoorIsSentAsABrowserSendsIt(t *testing.T) {
	code := regexp.MustCompile(`[A-Z2-7]{5}(-[A-Z2-7]{5})+-[A-Z2-7]{6}`)
	for _, look := range looks() {
		t.Run(look, func(t *testing.T) {
			o := options(t)
			o.Config.Access.SignIn = true
			first, err := people.Desk{Dir: o.Config.Data, By: people.By{Name: "command line", At: time.Now()}}.Invite(access.Person{Name: "Kim Example", Role: access.Keeper})
			require.NoError(t, err)
			d := &atTheDoor{newCrawl(t, formtest.At(t, running(t, o).URL()), look), map[string]bool{}}
			joins := func(code, name string) {
				d.sends("/join", formtest.Having("code"), "code", code).Form(formtest.Having("again")).
					FillIn("password", "four invented words", "again", "four invented words", "pin", "271828").Send().Says("Password saved.")
			}
			joins(first, "Kim Example")
			d.sends("/sign-in?next=/people", formtest.Having("password"), "name", "Kim Example", "password", "four invented words").Says("Kim Example, keeper")
			d.sends("/people", formtest.To("/sign-out"))
			d.sends("/sign-in?next=/people", formtest.Having("pin"), "name", "Kim Example", "pin", "271828").Says("Kim Example, keeper")
			joins(code.FindString(d.sends("/people", of("invite", ""), "name", "Nora", "role", "volunteer").Text()), "Nora")
			d.sends("/people", of("role", "Nora"), "role", "instructor").Says("Nora is now instructor.")
			require.Regexp(t, code, d.sends("/people", of("reset-password", "Nora")).Text())
			d.sends("/people", of("revoke", "Nora")).Says("Nora can no longer sign in")
			for name, where := range d.forms {
				page, _, _ := strings.Cut(name, ":")
				require.True(t, d.sent[name] || !slices.Contains([]string{"sign-in", "join", "people"}, page), "no case sends %s on %s", name, where)
			}
		})
	}
}
