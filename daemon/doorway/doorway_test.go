package doorway_test

import (
	"crypto/ecdsa"
	"crypto/tls"
	"crypto/x509"
	"fmt"
	"io"
	"net"
	"net/http"
	"net/http/httptest"
	"net/netip"
	"os"
	"path/filepath"
	"testing"
	"time"

	"github.com/stretchr/testify/require"
	"go.uber.org/goleak"

	"wetside/daemon/doorway"
	"wetside/sensors/clocktest"
)

func TestMain(m *testing.M) { goleak.VerifyTestMain(m) }

func evening() time.Time { return time.Date(2026, 9, 1, 18, 0, 0, 0, time.UTC) }

func TestThePagesAreAskedForUnderOurNamesAndBareAddressesOnly(t *testing.T) {
	own, err := os.Hostname()
	require.NoError(t, err)
	g := doorway.NewGate(clocktest.New(evening()), []string{"Darkroom.Example.org"})
	for host, known := range map[string]bool{
		"localhost": true, "localhost:8420": true, "LOCALHOST.": true, "127.0.0.1:8420": true, "[::1]:8420": true, "[::1]": true,
		"192.168.1.20:8420":    true,
		"darkroom.example.org": true, "darkroom.example.org.:443": true, own + ":8420": true, own + ".local": true,
		"": false, "evil.example": false, "evil.example:8420": false, "localhost.evil.example": false, "127.0.0.1.evil.example": false,
		"darkroom.example.org.evil.example": false, "0x7f000001": false, "localhost:8420:8420": false, "[::1": false, "localhost:x": false,
		"a b": false,
	} {
		require.Equal(t, known, g.Knows(host), "%q", host)
	}
}

func FuzzHost(f *testing.F) {
	g := doorway.NewGate(clocktest.New(evening()), nil)
	f.Add("localhost:8420")
	f.Add("[::1]:1")
	f.Fuzz(func(t *testing.T, host string) {
		g.Knows(host)
		if g.Knows(host + ".evil.example") {
			t.Fatalf("%q lets a foreign name in", host)
		}
	})
}

// ask gives the status of a request from an address.
func ask(g *doorway.Gate, method, path, from string) int {
	r := httptest.NewRequest(method, path, nil)
	r.Host, r.RemoteAddr = "localhost", from
	status, sentence := g.Check(r)
	if (status == 0) != (sentence == "") {
		return -1
	}
	return status
}

func TestOneAddressIsSlowedDownAndNoOther(t *testing.T) {
	clock := clocktest.New(evening())
	g := doorway.NewGate(clock, nil)
	for range 200 {
		require.Zero(t, ask(g, http.MethodGet, "/", "192.0.2.7:1000"))
	}
	require.Equal(t, http.StatusTooManyRequests, ask(g, http.MethodGet, "/", "192.0.2.7:1001"))
	require.Zero(t, ask(g, http.MethodGet, "/", "192.0.2.8:1000"))
	clock.Advance(time.Second)
	for range 8 {
		require.Zero(t, ask(g, http.MethodPost, "/rooms/north/baths", "192.0.2.7:1000"), "forty points in a second, five for a form")
	}
	require.Equal(t, http.StatusTooManyRequests, ask(g, http.MethodPost, "/rooms/north/baths", "192.0.2.7:1000"))
	for range 1000 {
		require.Zero(t, ask(g, http.MethodPost, "/", "127.0.0.1:1000"), "this computer itself is never slowed down")
	}
}

func TestWhoeverIsBehindAProxyCountsByTheirOwnAddress(t *testing.T) {
	proxies := doorway.Proxies{netip.MustParseAddr("127.0.0.1"), netip.MustParseAddr("192.0.2.10")}
	for _, c := range []struct {
		name, remote string
		headers      []string
		want         string
	}{
		{"passed on by the proxy", "127.0.0.1:5000", []string{"198.51.100.7"}, "198.51.100.7:0"},
		{"through two of ours", "192.0.2.10:5000", []string{"198.51.100.7, 127.0.0.1"}, "198.51.100.7:0"},
		{"in two headers", "192.0.2.10:5000", []string{"203.0.113.9", "198.51.100.7"}, "198.51.100.7:0"},
		{"what a stranger wrote before", "127.0.0.1:5000", []string{"127.0.0.1, 203.0.113.9, 198.51.100.7"}, "198.51.100.7:0"},
		{"in IPv6", "127.0.0.1:5000", []string{"2001:db8::7"}, "[2001:db8::7]:0"},
		{"a stranger who says so", "198.51.100.8:5000", []string{"127.0.0.1"}, "198.51.100.8:5000"},
		{"nobody is named", "127.0.0.1:5000", nil, "127.0.0.1:5000"},
		{"no address", "127.0.0.1:5000", []string{"198.51.100.7, soup"}, "127.0.0.1:5000"},
	} {
		r := httptest.NewRequest(http.MethodGet, "/", nil)
		r.RemoteAddr = c.remote
		for _, h := range c.headers {
			r.Header.Add("X-Forwarded-For", h)
		}
		var from string
		proxies.Resolve(http.HandlerFunc(func(_ http.ResponseWriter,
			r *http.Request) {
			from = r.RemoteAddr
		})).ServeHTTP(httptest.NewRecorder(), r)
		require.Equal(t, c.want, from, c.name)
	}
}

func TestSigningInTakesMost(t *testing.T) {
	g := doorway.NewGate(clocktest.New(evening()), nil)
	for range 10 {
		require.Zero(t, ask(g, http.MethodPost, "/sign-in", "[2001:db8::1]:1000"))
	}
	require.Equal(t, http.StatusTooManyRequests, ask(g, http.MethodPost, "/sign-in", "[2001:db8::2]:1000"),
		"one network of IPv6 is one address")
	require.Zero(t, ask(g, http.MethodPost, "/sign-in", "[2001:db8:1::2]:1000"))
}

func TestACertificateIsMadeOnceKeptAndRenewedInTime(t *testing.T) {
	dir := t.TempDir()
	first, err := doorway.Own(dir, []string{"darkroom.example.org"}, evening())
	require.NoError(t, err)
	require.IsType(t, &ecdsa.PrivateKey{}, first.PrivateKey)
	require.NoError(t, first.Leaf.VerifyHostname("darkroom.example.org"))
	require.NoError(t, first.Leaf.VerifyHostname("127.0.0.1"))
	require.Error(t, first.Leaf.VerifyHostname("evil.example"))
	info, err := os.Stat(filepath.Join(dir, "tls-key.pem"))
	require.NoError(t, err)
	require.Zero(t, info.Mode().Perm()&0o077)
	again, err := doorway.Own(dir, nil, evening().AddDate(1, 0, 0))
	require.NoError(t, err)
	require.Equal(t, doorway.Fingerprint(first), doorway.Fingerprint(again))
	require.Regexp(t, `^([0-9A-F]{2}:){31}[0-9A-F]{2}$`, doorway.Fingerprint(first))
	renewed, err := doorway.Own(dir, nil, first.Leaf.NotAfter.AddDate(0, 0, -1))
	require.NoError(t, err)
	require.NotEqual(t, doorway.Fingerprint(first), doorway.Fingerprint(renewed))
	require.NoError(t, os.WriteFile(filepath.Join(dir, "tls-key.pem"), []byte("damaged"), 0o600))
	_, err = doorway.Own(dir, nil, evening())
	require.ErrorContains(t, err, "to have another one made")
}

func TestABrowserThatTrustsTheCertificateReachesThePages(t *testing.T) {
	cert, err := doorway.Own(t.TempDir(), nil, time.Now())
	require.NoError(t, err)
	l, err := net.Listen("tcp", "127.0.0.1:0")
	require.NoError(t, err)
	server := &http.Server{Handler: http.NotFoundHandler(), ReadHeaderTimeout: time.Second,
		TLSConfig: &tls.Config{Certificates: []tls.Certificate{cert}, MinVersion: tls.VersionTLS12}}
	done := make(chan error, 1)
	go func() { done <- server.ServeTLS(doorway.Limit(l), "", "") }()
	trusted := x509.NewCertPool()
	trusted.AddCert(cert.Leaf)
	transport := &http.Transport{TLSClientConfig: &tls.Config{RootCAs: trusted}}
	answer, err := (&http.Client{Transport: transport}).Get("https://" + l.Addr().String())
	require.NoError(t, err)
	require.NoError(t, answer.Body.Close())
	transport.CloseIdleConnections()
	require.NoError(t, server.Close())
	require.ErrorIs(t, <-done, http.ErrServerClosed)
}

// pipes is a listener that hands on connections from an address of choice.
type pipes struct {
	net.Listener
	conns chan net.Conn
}

func (p pipes) Accept() (net.Conn, error) {
	if c, open := <-p.conns; open {
		return c, nil
	}
	return nil, net.ErrClosed
}

type from struct {
	net.Conn
	address string
}

func (f from) RemoteAddr() net.Addr {
	a, err := net.ResolveTCPAddr("tcp", f.address)
	if err != nil {
		return nil
	}
	return a
}

func TestOneComputerHasABoundedNumberOfConnections(t *testing.T) {
	p := pipes{conns: make(chan net.Conn, 1)}
	l := doorway.Limit(p)
	knock := func(address string) (mine, theirs net.Conn) {
		mine, theirs = net.Pipe()
		p.conns <- from{theirs, address}
		return mine, theirs
	}
	var first net.Conn
	for i := range 200 {
		_, _ = knock("192.0.2.7:1000")
		c, err := l.Accept()
		require.NoError(t, err)
		if i == 0 {
			first = c
		}
	}
	refused, _ := knock("192.0.2.7:1000")
	accepted := make(chan net.Conn, 1)
	go func() {
		c, _ := l.Accept()
		accepted <- c
	}()
	_, err := refused.Read(make([]byte, 1))
	require.ErrorIs(t, err, io.EOF, "one too many is closed at once")
	knock("192.0.2.8:1000")
	require.NotNil(t, <-accepted, "somebody else gets in")
	require.NoError(t, first.Close())
	require.NoError(t, first.Close(), "a place is given back once")
	knock("192.0.2.7:1000")
	_, err = l.Accept()
	require.NoError(t, err)
}

func TestConnectionsThatNobodyUsesKeepNobodyOut(t *testing.T) {
	p := pipes{conns: make(chan net.Conn, 1)}
	l := doorway.Limit(p)
	accept := func(address string) (accepted, theirs net.Conn) {
		mine, theirs := net.Pipe()
		p.conns <- from{mine, address}
		accepted, err := l.Accept()
		require.NoError(t, err)
		return accepted, theirs
	}
	used, _ := accept("192.0.2.1:1000")
	l.Note(used, http.StateActive)
	_, idle := accept("192.0.2.1:1000")
	_, oldest := accept("192.0.2.2:1000")
	for i := range 997 {
		accept(fmt.Sprintf("192.0.2.%d:1000", 2+i%6))
	}
	accept("192.0.2.200:1000")
	_, err := oldest.Read(make([]byte, 1))
	require.ErrorIs(t, err, io.EOF, "the one that waited longest, of the computer with the most, gave way")
	accept("192.0.2.200:1000")
	for _, kept := range []net.Conn{idle} {
		require.NoError(t, kept.SetReadDeadline(time.Now().Add(10*time.Millisecond)))
		_, err = kept.Read(make([]byte, 1))
		require.ErrorIs(t, err, os.ErrDeadlineExceeded, "whoever has few stays")
	}
	require.NoError(t, used.Close())
}
