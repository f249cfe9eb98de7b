// Package uplink sends what a site has recorded to its centre: records at once, samples when
// they are sealed, and a sign of life every minute. The centre says how far it has come, and
// the sender goes on from there, so nothing is kept here and nothing can be out of step. With
// the centre out of reach, everything at the site is as it was, and what waits is sent later.
package uplink

import (
	"context"
	"crypto/tls"
	"errors"
	"fmt"
	"hash/maphash"
	"net/http"
	"net/url"
	"strings"
	"time"

	"go.uber.org/zap"

	"wetside/daemon/centre/wire"
	"wetside/daemon/doorway"
	"wetside/daemon/history"
	"wetside/daemon/outgoing"
	"wetside/sensors"
)

const (
	look       = 2 * time.Second // how often the history is asked for what is new
	heartbeat  = time.Minute     // how often the centre hears something
	shortest   = time.Second     // wait after a first failure
	longest    = time.Minute     // after many
	answerTime = time.Minute     // for one answer
)

// Book is the history that is sent.
type Book interface {
	Raw(ctx context.Context, fn func(history.Raw) error) error
}

// Options say where to send to, what, and by what means.
type Options struct {
	// URL is the address of the centre, such as https://centre.example.org.
	URL string
	// Key is the site's own.
	Key string
	// Fingerprint is the SHA-256 of the centre's certificate in hexadecimal, where the centre
	// made that itself; empty trusts what this computer trusts.
	Fingerprint string
	About       wire.About
	Book        Book
	Clock       sensors.Clock
	Log         *zap.Logger
}

// Sender sends. One goroutine, in Run, owns everything but its standing.
type Sender struct {
	options Options
	client  *http.Client
	url     string
	known   known
	sums    sums
	bytes   int // how much a message carries at most, before it is packed
	wait    sensors.Backoff
	spoke   sensors.Instant // when the centre last answered

	standing outgoing.Standing[Standing]
}

// New prepares a sender.
func New(o Options) (*Sender, error) {
	u, err := url.Parse(o.URL)
	if err != nil || u.Host == "" || u.Scheme != "https" && u.Scheme != "http" {
		return nil, fmt.Errorf("%q is not the address of a centre: expected one that begins with https:// or http://", o.URL)
	}
	return &Sender{
		options: o, url: strings.TrimSuffix(u.String(), "/"), bytes: mostBytes, known: nothing(), sums: sums{maphash.MakeSeed()},
		wait:   sensors.Backoff{First: shortest, Longest: longest},
		client: outgoing.Client(answerTime, transport(o.Fingerprint)),
	}, nil
}

// transport trusts one certificate where its fingerprint was given.
func transport(fingerprint string) http.RoundTripper {
	t := outgoing.Way()
	if fingerprint == "" {
		return t
	}
	bare := func(print string) string { return strings.ReplaceAll(print, ":", "") }
	t.TLSClientConfig = &tls.Config{
		MinVersion:         tls.VersionTLS12,
		InsecureSkipVerify: true, // the certificate itself is compared instead of its signers
		VerifyConnection: func(s tls.ConnectionState) error {
			have := doorway.Fingerprint(tls.Certificate{Certificate: [][]byte{s.PeerCertificates[0].Raw}})
			if !strings.EqualFold(bare(have), bare(fingerprint)) {
				return fmt.Errorf("the centre's certificate has the fingerprint %s, and %s was expected: compare it with what wetside centre "+
					"prints at its start", have, fingerprint)
			}
			return nil
		},
	}
	return t
}

// Run sends until ctx ends.
func (s *Sender) Run(ctx context.Context) {
	defer s.client.CloseIdleConnections()
	for wait := look; ctx.Err() == nil; sensors.Pause(ctx, s.options.Clock, wait) {
		wait = look
		err := s.catchUp(ctx)
		if ctx.Err() != nil {
			return
		}
		if s.tell(err); err != nil {
			wait = s.wait.Next()
		} else {
			s.wait.Reset()
		}
	}
}

// tell writes into the log what has changed.
func (s *Sender) tell(err error) {
	before := s.note(err)
	refused, isRefused := errors.AsType[*Refused](err)
	switch {
	case err == nil && before != "":
		s.options.Log.Info("the centre takes this site's book again")
	case err == nil || before == err.Error():
	case isRefused:
		s.options.Log.Error("the centre refuses this site's book", zap.Error(refused))
	case before == "":
		s.options.Log.Warn("the centre can't be reached; records wait at this site", zap.Error(err))
	}
}

// catchUp sends everything that is new, and a sign of life when one is due.
func (s *Sender) catchUp(ctx context.Context) error {
	for ctx.Err() == nil {
		due := !s.known.place || s.options.Clock.Now().Since(s.spoke) >= heartbeat
		m, err := s.compose(ctx)
		if err != nil {
			return fmt.Errorf("reading what waits for the centre: %w", err)
		}
		if !m.news && !due {
			return nil
		}
		answer, err := s.post(ctx, m.push)
		if err != nil {
			s.bytes = max(s.bytes/2, leastBytes)
			s.known.place = false
			s.known.unsure++
			return err
		}
		s.bytes = min(2*s.bytes, mostBytes)
		s.spoke = s.options.Clock.Now()
		s.settle(m, answer)
	}
	return ctx.Err()
}

// settle notes what the centre has now.
func (s *Sender) settle(m message, a wire.Answer) {
	if s.known.learn(m, a) {
		s.options.Log.Info("the centre has less than it had, or somebody else sends for this site: what may be missing is sent again")
	}
	for _, r := range a.Refused {
		s.options.Log.Error("the centre refuses a day of samples", zap.Error(&Refused{r.Why}))
	}
	s.count(m, a)
}
