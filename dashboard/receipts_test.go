package dashboard_test

import (
	"context"
	"io"
	"net/http"
	"net/http/httptest"
	"net/url"
	"strings"
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"wetside/dashboard"
	"wetside/dashboard/viewtest"
	"wetside/rules"
	"wetside/rules/access"
	"wetside/sensors/quantity/phrase"
)

// as asks for an address with the session of somebody; a form makes it a post.
func (p *pages) as(session, path string, form url.Values) *httptest.ResponseRecorder {
	p.t.Helper()
	method := http.MethodGet
	if form != nil {
		method = http.MethodPost
	}
	r := httptest.NewRequest(method, path, strings.NewReader(form.Encode()))
	if form != nil {
		r.Header.Set("Content-Type", "application/x-www-form-urlencoded")
	}
	if session != "" {
		r.AddCookie(&http.Cookie{Name: "wetside", Value: session})
	}
	out := httptest.NewRecorder()
	p.ServeHTTP(out, r)
	return out
}

const someToken = "ABCDEFGHIJKLMNOPQRSTUVWXYZ"

func inviting() url.Values {
	return url.Values{"act": {"invite"}, "name": {"Nora"}, "role": {"instructor"}, "token": {someToken}}
}

func TestACodeIsShownOnceAndOnlyToTheSessionThatAskedForTheCode(t *testing.T) {
	p := guarded(t, nil)
	sent := p.as("Kim", "/people", inviting())
	require.Equal(t, http.StatusSeeOther, sent.Code)
	address := sent.Header().Get("Location")
	require.NotContains(t, address, viewtest.Invitation)
	for _, other := range []string{"", "volunteer", "keeper"} { // "keeper" is a keeper's session too, another one
		require.NotContains(t, p.as(other, address, nil).Body.String(), viewtest.Invitation, "session %q", other)
	}
	for _, page := range []string{"/rooms/north/baths", "/rooms/north/air", "/shelf", "/duties", "/screen", "/first-run", "/keeper", "/rooms/north/set-up"} {
		require.NotContains(t, p.as("Kim", page+"?done="+someToken, nil).Body.String(), viewtest.Invitation, page)
	}
	require.Contains(t, p.as("Kim", address, nil).Body.String(), viewtest.Invitation)
	require.NotContains(t, p.as("Kim", address, nil).Body.String(), viewtest.Invitation, "shown once")
}

func TestACodeThatNobodyFetchesIsForgotten(t *testing.T) {
	p := guarded(t, nil)
	address := p.as("Kim", "/people", inviting()).Header().Get("Location")
	p.Clock.Advance(3 * time.Minute)
	require.NotContains(t, p.as("Kim", address, nil).Body.String(), viewtest.Invitation)
}

func TestAPasswordCodeIsNeverPartOfAnAddress(t *testing.T) {
	p := guarded(t, nil)
	require.NotContains(t, p.as("", "/join?code="+viewtest.Invitation, nil).Body.String(), "Nora", "an address stays in the browser's history")
	typed := p.as("", "/join", url.Values{"code": {viewtest.Invitation}})
	require.Equal(t, http.StatusOK, typed.Code)
	require.Contains(t, typed.Body.String(), "Nora, as instructor")
	require.Empty(t, typed.Header().Get("Location"))
}

func complaining(text string) url.Values {
	return url.Values{"act": {"complain"}, "complaint": {text}, "token": {someToken}}
}

func TestAReceiptIsForWhoSentTheFormAndForThePageThatShowsTheReceipt(t *testing.T) {
	p := guarded(t, nil)
	address := p.as("volunteer", "/rooms/north/air", complaining("smells of fixer")).Header().Get("Location")
	const receipt = `class="receipt"`
	for range 2 {
		require.Contains(t, p.as("volunteer", address, nil).Body.String(), receipt)
	}
	require.NotContains(t, p.as("instructor", address, nil).Body.String(), receipt)
	require.NotContains(t, p.as("volunteer", "/rooms/north/baths?done="+someToken, nil).Body.String(), receipt)
}

func TestAFormThatCameBackIsShownToItsSenderAlone(t *testing.T) {
	p := guarded(t, nil)
	address := p.as("volunteer", "/rooms/north/air", url.Values{"act": {"complain"}, "who": {"x"}, "token": {someToken}}).Header().Get("Location")
	require.Contains(t, address, "again=")
	require.Contains(t, p.as("volunteer", address, nil).Body.String(), `class="problem"`)
	require.NotContains(t, p.as("instructor", address, nil).Body.String(), `class="problem"`)
}

func TestTheSameFormWithOtherContentsIsRefusedAndShownAgain(t *testing.T) {
	p := guarded(t, nil)
	require.Contains(t, p.as("volunteer", "/rooms/north/air", complaining("smells of fixer")).Header().Get("Location"), "done=")
	require.Contains(t, p.as("volunteer", "/rooms/north/air", complaining("smells of fixer")).Header().Get("Location"), "done=", "pressed twice")
	other := p.as("volunteer", "/rooms/north/air", complaining("smells of the drain"))
	require.Contains(t, other.Header().Get("Location"), "again=")
	require.Len(t, p.Commands(), 1)
	shown := p.as("volunteer", other.Header().Get("Location"), nil).Body.String()
	require.Contains(t, shown, "already sent once, with other contents")
	require.Contains(t, shown, "smells of the drain", "what was typed is there")
	require.Contains(t, p.as("instructor", "/rooms/north/air", complaining("smells of fixer")).Header().Get("Location"), "again=", "somebody else's form")
	require.Len(t, p.Commands(), 1)
}

func TestAStreamEndsWithTheRightToReadTheStream(t *testing.T) {
	door := viewtest.NewDoor()
	p := guarded(t, func(o *dashboard.Options) { o.Accounts = door })
	server := httptest.NewServer(p)
	defer server.Close()
	r, err := http.NewRequestWithContext(t.Context(), http.MethodGet, server.URL+"/rooms/north/events", nil)
	require.NoError(t, err)
	r.AddCookie(&http.Cookie{Name: "wetside", Value: "Vera"})
	answer, err := http.DefaultClient.Do(r)
	require.NoError(t, err)
	defer answer.Body.Close()
	_, err = answer.Body.Read(make([]byte, 1))
	require.NoError(t, err, "the stream runs")
	require.NoError(t, door.Revoke(t.Context(), "Vera"))
	ended := make(chan error, 1)
	go func() {
		_, err := io.Copy(io.Discard, answer.Body)
		ended <- err
	}()
	select {
	case err := <-ended:
		require.NoError(t, err)
	case <-time.After(10 * time.Second):
		require.Fail(t, "the stream goes on")
	}
	http.DefaultClient.CloseIdleConnections()
}

func TestAFormThatARunBeforeRecordedIsRecordedOnce(t *testing.T) {
	var sent access.Form
	filed := func(token string) (access.Form, uint64, bool) { return sent, 17, sent.Of(token) }
	first := guarded(t, nil)
	first.Answer(func(ctx context.Context, _ rules.Command) (rules.Receipt, error) {
		sent = access.FormFrom(ctx)
		return rules.Receipt{Number: 17, Sentence: phrase.Plain("Recorded.")}, nil
	})
	require.Contains(t, first.as("volunteer", "/rooms/north/air", complaining("smells of fixer")).Header().Get("Location"), "done=")
	require.True(t, sent.Of(someToken))

	p := guarded(t, func(o *dashboard.Options) { o.Filed = filed })
	again := p.as("volunteer", "/rooms/north/air", complaining("smells of fixer"))
	require.Contains(t, p.as("volunteer", again.Header().Get("Location"), nil).Body.String(), "already recorded, as number 17")
	p = guarded(t, func(o *dashboard.Options) { o.Filed = filed })
	other := p.as("volunteer", "/rooms/north/air", complaining("smells of the drain"))
	require.Contains(t, other.Header().Get("Location"), "again=")
	require.NotContains(t, other.Header().Get("Location"), someToken, "shown under a token of its own")
	require.Empty(t, p.Commands())
}
