package outgoing_test

import (
	"net/http"
	"net/http/httptest"
	"strings"
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"wetside/daemon/outgoing"
)

// TestNothingIsSentToAnotherAddress asks by each of the ways to redirect a request; of those
// 307 and 308 would carry its body on.
func TestNothingIsSentToAnotherAddress(t *testing.T) {
	asked := 0
	other := httptest.NewServer(http.HandlerFunc(func(http.ResponseWriter, *http.Request) { asked++ }))
	defer other.Close()
	for _, status := range []int{301, 302, 303, 307, 308} {
		server := httptest.NewServer(http.RedirectHandler(other.URL, status))
		for _, way := range []http.RoundTripper{nil, outgoing.Way()} {
			answer, err := outgoing.Client(time.Minute, way).Post(server.URL, "text/plain", strings.NewReader("secret"))
			require.NoError(t, err)
			require.Equal(t, status, answer.StatusCode)
			require.NoError(t, answer.Body.Close())
		}
		server.Close()
	}
	require.Zero(t, asked)
}

func TestAServerThatDoesNotAnswerIsLeftInTime(t *testing.T) {
	over := make(chan struct{})
	server := httptest.NewServer(http.HandlerFunc(func(http.ResponseWriter, *http.Request) { <-over }))
	defer server.Close()
	defer close(over)
	_, err := outgoing.Client(20*time.Millisecond, nil).Get(server.URL)
	require.ErrorContains(t, err, "Client.Timeout exceeded")
}

func TestAStandingIsSeenInOnePiece(t *testing.T) {
	var s outgoing.Standing[[2]int]
	done := make(chan struct{})
	go func() {
		defer close(done)
		for range 1000 {
			s.Change(func(pair *[2]int) { pair[0]++; pair[1]++ })
		}
	}()
	for range 1000 {
		pair := s.Get()
		require.Equal(t, pair[0], pair[1])
	}
	<-done
	require.Equal(t, [2]int{1000, 1000}, s.Get())
}
