package dashboard_test

import (
	"bytes"
	"io"
	"net/http"
	"net/http/httptest"
	"os"
	"runtime"
	"strings"
	"sync/atomic"
	"testing"
	"time"

	"github.com/stretchr/testify/require"
)

// largeBody is how long the bodies are that a stranger sends.
const largeBody = 40 << 20

// flood is an endless body that looks at the temporary folder while it is sent.
type flood struct {
	temp  string
	files atomic.Int64 // the transport may still read when the server has answered
}

func (f *flood) Read(p []byte) (int, error) {
	list, err := os.ReadDir(f.temp)
	if err != nil {
		return 0, err
	}
	if n := int64(len(list)); n > f.files.Load() {
		f.files.Store(n)
	}
	return copy(p, bytes.Repeat([]byte("x"), len(p))), nil
}

// sending is one way to send a large body.
type sending struct{ name, kind, head string }

func sendings() []sending {
	const part = "--b\r\nContent-Disposition: form-data; name=\"look\""
	return []sending{
		{"a file in parts", "multipart/form-data; boundary=b", part + "; filename=\"a\"\r\n\r\n"},
		{"a field in parts", "multipart/form-data; boundary=b", part + "\r\n\r\n"},
		{"a long form", "application/x-www-form-urlencoded", "look="},
	}
}

// send sends a large body and gives the status; 0 where the server hung up on the sender.
func send(t *testing.T, r *http.Request, way sending) int {
	t.Helper()
	body := &flood{temp: os.TempDir()}
	r.Body = io.NopCloser(io.MultiReader(strings.NewReader(way.head), io.LimitReader(body, largeBody)))
	r.Header.Set("Content-Type", way.kind)
	transport := &http.Transport{}
	defer transport.CloseIdleConnections()
	status := 0
	if answer, err := (&http.Client{Transport: transport, Timeout: 20 * time.Second}).Do(r); err == nil {
		status = answer.StatusCode
		_, _ = io.Copy(io.Discard, answer.Body) // an answer that is cut off is one as well
		require.NoError(t, answer.Body.Close())
	}
	require.Zero(t, body.files.Load(), "the body was written to the temporary folder")
	return status
}

func allocated() uint64 {
	var m runtime.MemStats
	runtime.ReadMemStats(&m)
	return m.TotalAlloc
}

func TestALargeBodyCostsNeitherMemoryNorDiskWhoeverSendsIt(t *testing.T) {
	t.Setenv("TMPDIR", t.TempDir())
	p := guarded(t, nil)
	server := httptest.NewServer(p)
	defer server.Close()
	for _, route := range []string{"GET /sign-in", "POST /sign-in", "POST /join", "POST /sign-out", "GET /healthz", "GET /metrics",
		"GET /rooms/north/board",
		"GET /rooms/north/then", "GET /people", "POST /people", "POST /rooms/north/timer", "POST /shelf/typing/bottle-opened", "POST /nowhere"} {
		for _, token := range []string{"", "keeper"} {
			for _, way := range sendings() {
				method, path, _ := strings.Cut(route, " ")
				for _, length := range []int64{-1, largeBody} {
					r, err := http.NewRequestWithContext(t.Context(), method, server.URL+path, nil)
					require.NoError(t, err)
					if r.ContentLength = length; length > 0 {
						r.ContentLength += int64(len(way.head))
					}
					if token != "" {
						r.Header.Set("Authorization", "Bearer "+token)
					}
					before := allocated()
					status := send(t, r, way)
					require.Less(t, allocated()-before, uint64(8<<20), "%s to %s of %q", way.name, route, token)
					require.NotEqual(t, http.StatusSeeOther, status, "%s to %s of %q was taken for a form", way.name, route, token)
				}
			}
		}
	}
}

func TestWhoHasNotSignedInSendsAShortFormOnly(t *testing.T) {
	p := guarded(t, nil)
	form := map[string][]string{"act": {"complain"}, "complaint": {strings.Repeat("x", 20<<10)}, "token": {"ABCDEFGHIJKLMNOPQRSTUVWXYZ"}}
	require.Equal(t, http.StatusRequestEntityTooLarge, p.knock("POST /rooms/{room}/air", "", form).Code)
	require.NotEqual(t, http.StatusRequestEntityTooLarge, p.knock("POST /rooms/{room}/air", "volunteer", form).Code)
}
