// Package formtest sends the forms of a page exactly as a browser without script
// does: it fetches the page, reads each form by the rules of the HTML standard
// (https://html.spec.whatwg.org/multipage/form-control-infrastructure.html), lets a
// test fill what a person could fill, presses a button and follows where the answer
// leads. A test that builds the values by hand may pass for a form that no person
// can send; one that uses this package can't.
//
// It is for tests alone.
package formtest

import (
	"io"
	"net/http"
	"net/http/cookiejar"
	"net/http/httptest"
	"net/url"
	"strings"
	"testing"
	"time"

	"github.com/stretchr/testify/require"
)

// patience is how long an answer may take.
const patience = 30 * time.Second

// Browser visits pages and keeps their cookies.
type Browser struct {
	t      testing.TB
	base   *url.URL
	client *http.Client
	effort *Effort
	plain  bool // shows a date or time as a line of text
}

// Effort is what a person had to do: links, buttons and choices pressed, texts typed.
type Effort struct{ Presses, Entries int }

// On is a browser in front of a handler, without a network.
func On(t testing.TB, h http.Handler) *Browser {
	return Over(t, "http://127.0.0.1", handled{h})
}

// At is a browser at a server that listens.
func At(t testing.TB, base string) *Browser {
	t.Helper()
	return Over(t, base, http.DefaultTransport.(*http.Transport).Clone())
}

// Over is a browser that reaches a server by a way of its own.
func Over(t testing.TB, base string, way http.RoundTripper) *Browser {
	t.Helper()
	at, err := url.Parse(base)
	require.NoError(t, err)
	jar, err := cookiejar.New(nil)
	require.NoError(t, err)
	client := &http.Client{Jar: jar, Transport: way, Timeout: patience}
	t.Cleanup(client.CloseIdleConnections)
	return &Browser{t, at, client, &Effort{}, false}
}

// In is the same browser within another test.
func (b *Browser) In(t testing.TB) *Browser {
	return &Browser{t, b.base, b.client, b.effort, b.plain}
}

// WithoutPickers is the same browser if it knew no type of input for dates and times: the
// standard has it show a line of text, into which anything can be typed.
func (b *Browser) WithoutPickers() *Browser {
	return &Browser{b.t, b.base, b.client, b.effort, true}
}

// Effort is what it took so far.
func (b *Browser) Effort() Effort { return *b.effort }

// Open goes to an address as if it were typed.
func (b *Browser) Open(address string) *Page {
	b.t.Helper()
	to, err := b.base.Parse(address)
	require.NoError(b.t, err)
	return b.fetch(http.MethodGet, to, "", nil)
}

// fetch asks for an address, from a page when it was pressed there.
func (b *Browser) fetch(method string, to *url.URL, body string, from *Page) *Page {
	b.t.Helper()
	r, err := http.NewRequestWithContext(b.t.Context(), method, to.String(), strings.NewReader(body))
	require.NoError(b.t, err)
	if method == http.MethodPost {
		r.Header.Set("Content-Type", "application/x-www-form-urlencoded")
	}
	r.Header.Set("Accept", "text/html,application/xhtml+xml,*/*;q=0.8")
	if from != nil {
		from.introduce(r)
	}
	answer, err := b.client.Do(r)
	require.NoError(b.t, err)
	defer answer.Body.Close()
	text, err := io.ReadAll(answer.Body)
	require.NoError(b.t, err)
	page, err := readPage(b, answer, text)
	require.NoError(b.t, err)
	return page
}

// introduce says where a request comes from, as the referrer policy of the page lets a
// browser say over plain HTTP in a local network, where it sends no Sec-Fetch-Site.
func (p *Page) introduce(r *http.Request) {
	origin := p.Address.Scheme + "://" + p.Address.Host
	same := r.URL.Scheme == p.Address.Scheme && r.URL.Host == p.Address.Host
	silent := p.policy == "no-referrer" || p.policy == "same-origin" && !same
	if !silent {
		referrer := *p.Address
		referrer.Fragment = ""
		r.Header.Set("Referer", referrer.String())
	}
	if r.Method == http.MethodPost {
		r.Header.Set("Origin", map[bool]string{true: "null", false: origin}[silent])
	}
}

// handled answers requests with a handler, as a server would.
type handled struct{ http.Handler }

func (h handled) RoundTrip(r *http.Request) (*http.Response, error) {
	out := httptest.NewRecorder()
	to := *r.URL
	to.Fragment = "" // a fragment is the browser's own
	in := httptest.NewRequestWithContext(r.Context(), r.Method, to.String(), r.Body)
	in.Header = r.Header.Clone()
	h.ServeHTTP(out, in)
	answer := out.Result()
	answer.Request = r
	return answer, nil
}
