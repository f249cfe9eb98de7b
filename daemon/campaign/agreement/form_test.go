package agreement_test

import (
	"maps"
	"net/http"
	"slices"
	"strings"

	"github.com/stretchr/testify/require"

	"wetside/dashboard/formtest"
)

// entry is what a person types into a form, by the names of its fields. Several choices are
// parted by a bar.
type entry map[string]string

// person is who enters what the tests enter.
const person = "Ida (invented)"

// enters sends a form of a page, and the page that follows shows no problem; see [evening.tries].
func (e *evening) enters(path string, wanted, typed entry) {
	require.Empty(e, e.tries(path, wanted, typed), "%s: %v", path, typed)
}

// tries fills the first form of a page that is sent to the address "action" of wanted, or that
// would send the other values of wanted, and sends it as a browser does. It gives what the
// page that follows says is wrong.
func (e *evening) tries(path string, wanted, typed entry) (problem string) {
	var which []formtest.Which
	for name, value := range wanted {
		if name == "action" {
			which = append(which, formtest.To(value))
			continue
		}
		which = append(which, formtest.Having(name, value))
	}
	form := e.browser().Open(path).First(which...)
	for _, name := range slices.Sorted(maps.Keys(typed)) {
		form.Fill(name, strings.Split(typed[name], "|")...)
	}
	if slices.Contains(form.Shown(), "who") {
		form.Fill("who", person)
	}
	if slices.Contains(form.Shown(), "in_session") { // asked where several are open
		form.Fill("in_session", e.session())
	}
	answer := form.Enter()
	if problem = answer.Problem(); problem == "" {
		require.Equal(e, http.StatusOK, answer.Status, "%s: %s", path, answer.Text())
	}
	return problem
}

// browser is a browser in front of the daemon that runs now.
func (e *evening) browser() *formtest.Browser { return formtest.Over(e, origin, e.client.Transport) }
