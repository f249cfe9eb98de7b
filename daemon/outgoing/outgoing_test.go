package outgoing_test

import (
	"math"
	"net/http"
	"net/http/httptest"
	"os"
	"path/filepath"
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

func TestThePlaceIsReadAsItWasWritten(t *testing.T) {
	f := outgoing.Bookmark(filepath.Join(t.TempDir(), "place"))
	_, found, err := f.Read()
	require.NoError(t, err)
	require.False(t, found)
	for _, want := range []int64{0, -1, 1_792_015_200_000, math.MaxInt64} {
		require.NoError(t, f.Write(want))
		got, found, err := f.Read()
		require.NoError(t, err)
		require.True(t, found)
		require.Equal(t, want, got)
	}
	require.NoFileExists(t, string(f)+".part")
}

func TestADamagedPlaceSaysWhatToDo(t *testing.T) {
	f := outgoing.Bookmark(filepath.Join(t.TempDir(), "place"))
	for _, text := range []string{"", "soup", "1.5", "99999999999999999999"} {
		require.NoError(t, os.WriteFile(string(f), []byte(text), 0o600))
		_, _, err := f.Read()
		require.ErrorContains(t, err, "delete ")
	}
	require.ErrorContains(t, outgoing.Bookmark(filepath.Join(t.TempDir(), "no", "place")).Write(1), "can't be kept")
}
