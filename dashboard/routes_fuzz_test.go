package dashboard_test

import (
	"net/http"
	"net/url"
	"strings"
	"testing"

	"github.com/stretchr/testify/require"

	"wetside/rules/access"
)

// FuzzEveryRoute sends any form, or any question behind its address, to any route, as
// somebody who may use them all: it is answered, and nothing breaks over it.
func FuzzEveryRoute(f *testing.F) {
	p := guarded(f, nil)
	routes := p.Patterns()
	const token = "token=ABCDEFGHIJKLMNOPQRSTUVWXYZ"
	for i := range routes {
		f.Add(uint8(i), token+"&act=complain&who=Ida&complaint=x&number=-1&seen=99999999999999999999")
		f.Add(uint8(i), token+"&from=2026-13-40&to=1e309&at=99:99&step=-1&count=NaN&kind-0=x&name-0=%00&volume=1e400+m3&again=%FF")
	}
	f.Fuzz(func(t *testing.T, which uint8, text string) {
		form, err := url.ParseQuery(text)
		if err != nil {
			return
		}
		p.t = t
		route := routes[int(which)%len(routes)]
		if strings.HasPrefix(route, "GET ") {
			route += "?" + form.Encode()
		}
		require.NotEqual(t, http.StatusInternalServerError, p.knock(route, string(access.Keeper), form).Code, route)
	})
}
