package notify_test

import (
	"context"
	"crypto/ecdsa"
	"crypto/elliptic"
	"crypto/rand"
	"crypto/tls"
	"crypto/x509"
	"errors"
	"io"
	"math/big"
	"net"
	"net/http"
	"net/http/httptest"
	"path/filepath"
	"slices"
	"strings"
	"sync"
	"testing"
	"time"

	"github.com/emersion/go-sasl"
	"github.com/emersion/go-smtp"
	"github.com/stretchr/testify/require"
	"go.uber.org/goleak"
	"go.uber.org/zap"

	"wetside/daemon/notify"
	"wetside/sensors/clocktest"
)

func TestMain(m *testing.M) { goleak.VerifyTestMain(m) }

// post takes letters by SMTP and pushes by HTTP, or does not.
type post struct {
	mu      sync.Mutex
	down    bool
	refuses bool
	letters []string
	pushes  []string
}

// NewSession begins a connection.
func (p *post) NewSession(*smtp.Conn) (smtp.Session, error) { return &sitting{post: p}, nil }

// sitting is one connection of SMTP.
type sitting struct {
	*post
	signedIn bool
}

// AuthMechanisms are the ways to sign in.
func (*sitting) AuthMechanisms() []string { return []string{sasl.Plain} }

// Auth takes one user alone.
func (s *sitting) Auth(string) (sasl.Server, error) {
	return sasl.NewPlainServer(func(_, user, password string) error {
		if s.signedIn = user == "darkroom" && password == "secret"; !s.signedIn {
			return errors.New("wrong password")
		}
		return nil
	}), nil
}

// Mail begins a letter.
func (s *sitting) Mail(string, *smtp.MailOptions) error {
	s.mu.Lock()
	defer s.mu.Unlock()
	if s.down || !s.signedIn {
		return &smtp.SMTPError{Code: 451, EnhancedCode: smtp.EnhancedCode{4, 3, 0}, Message: "not now"}
	}
	return nil
}

// Rcpt names who gets the letter.
func (s *sitting) Rcpt(string, *smtp.RcptOptions) error {
	s.mu.Lock()
	defer s.mu.Unlock()
	if s.refuses {
		return &smtp.SMTPError{Code: 550, EnhancedCode: smtp.EnhancedCode{5, 1, 1}, Message: "nobody of this name"}
	}
	return nil
}

// Data takes the letter.
func (s *sitting) Data(r io.Reader) error {
	text, err := io.ReadAll(r)
	s.mu.Lock()
	defer s.mu.Unlock()
	s.letters = append(s.letters, string(text))
	return err
}

// Reset and Logout end a letter and a connection.
func (*sitting) Reset() {}

// Logout ends the connection.
func (*sitting) Logout() error { return nil }

// ServeHTTP takes a push.
func (p *post) ServeHTTP(w http.ResponseWriter, r *http.Request) {
	text, err := io.ReadAll(r.Body)
	p.mu.Lock()
	defer p.mu.Unlock()
	switch {
	case p.down || err != nil:
		w.WriteHeader(http.StatusServiceUnavailable)
	case r.Header.Get("Authorization") != "Bearer token":
		w.WriteHeader(http.StatusUnauthorized)
	default:
		p.pushes = append(p.pushes, string(text))
	}
}

func (p *post) set(down, refuses bool) {
	p.mu.Lock()
	defer p.mu.Unlock()
	p.down, p.refuses = down, refuses
}

func (p *post) got() (letters, pushes []string) {
	p.mu.Lock()
	defer p.mu.Unlock()
	return slices.Clone(p.letters), slices.Clone(p.pushes)
}

// telling is a teller under test with a mail server, an address for pushes and matters.
type telling struct {
	*testing.T
	post    *post
	clock   *clocktest.Manual
	options notify.Options
	mu      sync.Mutex
	matters []notify.Matter
	teller  *notify.Teller
}

// certificate is one for this computer, of nobody's authority but its own.
func certificate(t *testing.T) (tls.Certificate, *x509.CertPool) {
	key, err := ecdsa.GenerateKey(elliptic.P256(), rand.Reader)
	require.NoError(t, err)
	of := &x509.Certificate{SerialNumber: big.NewInt(1), NotBefore: time.Now().Add(-time.Hour), NotAfter: time.Now().Add(time.Hour),
		IsCA:                  true,
		BasicConstraintsValid: true, IPAddresses: []net.IP{net.IPv4(127, 0, 0, 1)}}
	made, err := x509.CreateCertificate(rand.Reader, of, of, key.Public(), key)
	require.NoError(t, err)
	leaf, err := x509.ParseCertificate(made)
	require.NoError(t, err)
	roots := x509.NewCertPool()
	roots.AddCert(leaf)
	return tls.Certificate{Certificate: [][]byte{made}, PrivateKey: key}, roots
}

func newTelling(t *testing.T, people ...notify.Person) *telling {
	s := &telling{T: t, post: &post{}, clock: clocktest.New(time.Date(2026, 10, 14, 17, 0, 0, 0, time.UTC))}
	own, roots := certificate(t)
	server := smtp.NewServer(s.post)
	server.TLSConfig, server.ErrorLog = &tls.Config{Certificates: []tls.Certificate{own}}, nothing{}
	listener, err := net.Listen("tcp", "127.0.0.1:0")
	require.NoError(t, err)
	var serving sync.WaitGroup
	serving.Go(func() { _ = server.Serve(listener) })
	t.Cleanup(func() { _ = server.Close(); serving.Wait() })
	pushed := httptest.NewServer(s.post)
	t.Cleanup(pushed.Close)
	for i := range people {
		if people[i].Push.URL != "" {
			people[i].Push.URL = pushed.URL
		}
	}
	s.options = notify.Options{People: people, File: filepath.Join(t.TempDir(), "notify.json"), Clock: s.clock, Log: zap.NewNop(),
		Server: notify.Server{Host: "127.0.0.1", Port: listener.Addr().(*net.TCPAddr).Port, Security: notify.StartTLS, User: "darkroom",
			Password: "secret",
			Roots:    roots, From: "darkroom@example.org"},
		Facts: func() notify.Facts {
			return notify.Facts{Checkpoint: "812:" + strings.Repeat("5f", 32), Zone: time.UTC}
		},
		Matters: func(context.Context) ([]notify.Matter, error) {
			s.mu.Lock()
			defer s.mu.Unlock()
			return slices.Clone(s.matters), nil
		}}
	s.start()
	return s
}

// nothing is a log that nobody reads.
type nothing struct{}

// Printf and Println write nothing.
func (nothing) Printf(string, ...any) {}

// Println writes nothing.
func (nothing) Println(...any) {}

// start makes a teller, as after a restart.
func (s *telling) start() {
	var err error
	s.teller, err = notify.New(s.options)
	require.NoError(s, err)
}

func (s *telling) has(list ...notify.Matter) {
	s.mu.Lock()
	defer s.mu.Unlock()
	s.matters = list
}

// turn lets the teller look once, after some time.
func (s *telling) turn(after time.Duration) {
	s.clock.Advance(after)
	ctx, cancel := context.WithCancel(s.Context())
	var running sync.WaitGroup
	waiting := s.clock.Waiters()
	running.Go(func() { s.teller.Run(ctx) })
	s.clock.BlockUntil(waiting + 1)
	cancel()
	running.Wait()
}
