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
)

func TestAFormSentAgainAfterARestartLeadsToNoSecondRecord(t *testing.T) {
	o := options(t)
	form := url.Values{"act": {"complain"}, "complaint": {"smells of fixer"}, "who": {"invented volunteer"}, "token": {"ABCDEFGHIJKLMNOPQRSTUVWXYZ"}}
	for _, run := range []string{"first", "after a restart"} {
		t.Run(run, func(t *testing.T) {
			again := options(t)
			again.Config.Data = o.Config.Data
			d := running(t, again)
			answer, err := http.PostForm(d.URL()+"/rooms/darkroom/air", form) // what the browser sent before, once more
			require.NoError(t, err)
			text, err := io.ReadAll(answer.Body)
			require.NoError(t, errors.Join(err, answer.Body.Close()))
			http.DefaultClient.CloseIdleConnections()
			page := string(text)
			require.Contains(t, page, `class="receipt"`)
			require.Equal(t, run != "first", strings.Contains(page, "already recorded, as number"), run)
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
