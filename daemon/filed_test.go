package daemon_test

import (
	"errors"
	"io"
	"net/http"
	"net/url"
	"strings"
	"testing"

	"github.com/stretchr/testify/require"

	"wetside/daemon/history"
	"wetside/dashboard/formtest"
)

func TestAFormSentAgainAfterARestartLeadsToNoSecondRecord(t *testing.T) {
	o := options(t)
	var form url.Values
	for _, run := range []string{"first", "after a restart"} {
		t.Run(run, func(t *testing.T) {
			again := options(t)
			again.Config.Data = o.Config.Data
			d := running(t, again)
			const alarms = "/rooms/darkroom/alarms"
			if form == nil {
				form = formtest.At(t, d.URL()).Open(alarms).Form(formtest.Doing("complain")).FillIn("complaint", "smells of fixer", "who",
					"invented volunteer").Values()
			}
			answer, err := http.PostForm(d.URL()+alarms, form) // what the browser sent before, once more
			require.NoError(t, err)
			text, err := io.ReadAll(answer.Body)
			require.NoError(t, errors.Join(err, answer.Body.Close()))
			http.DefaultClient.CloseIdleConnections()
			page := string(text)
			require.Contains(t, page, `class="receipt"`)
			require.Equal(t, run != "first", strings.Contains(page, "already recorded, as number"), run)
			if run != "first" {
				form.Set("complaint", "smells of the drain")
				answer, err := http.PostForm(d.URL()+alarms, form)
				require.NoError(t, err)
				require.NoError(t, answer.Body.Close())
				http.DefaultClient.CloseIdleConnections()
				require.Contains(t, answer.Request.URL.RawQuery, "again=", "the same form with other contents")
				require.NotContains(t, answer.Request.URL.RawQuery, form.Get("token"), "shown under a token of its own")
			}
		})
	}
	book, err := history.OpenReader(t.Context(), history.Options{Dir: o.Config.Data})
	require.NoError(t, err)
	defer book.Close()
	records, err := book.Records(t.Context(), history.Query{Kinds: []string{"complaint"}})
	require.NoError(t, err)
	require.Len(t, records, 1)
	require.NotEmpty(t, records[0].Form)
}
