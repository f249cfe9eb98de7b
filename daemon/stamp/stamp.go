// Package stamp has the checkpoint of the record book stamped by an authority for time stamps
// (RFC 3161) and keeps the answers beside the book. A time stamp proves that every record up to
// the checkpoint existed at that time as it is now. The two files of each can be checked without
// this program:
//
//	openssl ts -verify -CAfile authority.pem -data checkpoint-812.txt -in checkpoint-812.tsr
package stamp

import (
	"bytes"
	"context"
	"crypto/rand"
	"crypto/x509"
	"errors"
	"fmt"
	"io"
	"math/big"
	"net/http"
	"os"
	"path/filepath"
	"strings"
	"time"

	"github.com/digitorus/timestamp"
	"go.uber.org/zap"

	"wetside/daemon/history/book"
	"wetside/daemon/history/disk"
	"wetside/daemon/outgoing"
	"wetside/sensors"
)

const (
	look       = time.Minute      // how often it is asked whether one is due
	retry      = 15 * time.Minute // after a failure
	answerTime = 30 * time.Second
	mostAnswer = 1 << 20
)

// Options say who stamps, how often and by what means.
type Options struct {
	URL   string
	Every time.Duration
	// Folder keeps the time stamps.
	Folder string
	// Roots are the authority's certificates; nil takes the signature of anybody.
	Roots *x509.CertPool
	// Newest is the newest record of the book that is on disk.
	Newest func() book.Checkpoint
	Clock  sensors.Clock
	Log    *zap.Logger
}

// Stamper asks for time stamps. One goroutine, in Run, owns it, but for its standing.
type Stamper struct {
	options Options
	client  *http.Client
	tried   time.Time

	standing outgoing.Standing[Standing]
}

// Standing is the newest time stamp, zero before the first, and why there is no newer one.
type Standing struct {
	Last    Stamp
	Problem error
}

// New prepares a stamper and looks which time stamp is the newest.
func New(o Options) (*Stamper, error) {
	s := &Stamper{options: o, client: outgoing.Client(answerTime, nil)}
	list, err := List(o.Folder, nil)
	for _, k := range list {
		if k.Err == nil {
			s.standing.Change(func(now *Standing) { now.Last = k.Stamp }) // they come in the order of the book
		}
	}
	return s, err
}

// Standing tells of the newest time stamp.
func (s *Stamper) Standing() Standing { return s.standing.Get() }

// Run has the book stamped until ctx ends.
func (s *Stamper) Run(ctx context.Context) {
	defer s.client.CloseIdleConnections()
	for ctx.Err() == nil {
		if c := s.options.Newest(); s.due(c) {
			s.note(s.stamp(ctx, c))
		}
		sensors.Pause(ctx, s.options.Clock, look)
	}
}

// due says whether a checkpoint is to be stamped now: nothing new in the book needs no stamp.
func (s *Stamper) due(c book.Checkpoint) bool {
	now, standing := s.options.Clock.Now().Wall, s.Standing()
	last := standing.Last.At // by the authority's clock, until this run has a time of its own
	if !s.tried.IsZero() {
		last = s.tried
	}
	if c.Number <= standing.Last.Checkpoint.Number || standing.Problem != nil && now.Sub(s.tried) < retry {
		return false
	}
	return standing.Problem != nil || now.Sub(last) >= s.options.Every
}

func (s *Stamper) note(made Stamp, err error) {
	s.tried = s.options.Clock.Now().Wall
	if err != nil && s.Standing().Problem == nil && !errors.Is(err, context.Canceled) {
		s.options.Log.Warn("the record book was not stamped", zap.Error(err))
	}
	s.standing.Change(func(now *Standing) {
		if now.Problem = err; err == nil {
			now.Last = made
		}
	})
}

// stamp has a checkpoint stamped, checks the answer and keeps both.
func (s *Stamper) stamp(ctx context.Context, c book.Checkpoint) (Stamp, error) {
	nonce, err := rand.Int(rand.Reader, new(big.Int).Lsh(big.NewInt(1), 64))
	if err != nil {
		return Stamp{}, fmt.Errorf("no random number for a time stamp: %w", err)
	}
	question, err := timestamp.CreateRequest(strings.NewReader(c.String()), &timestamp.RequestOptions{Certificates: true, Nonce: nonce})
	if err != nil {
		return Stamp{}, fmt.Errorf("the question for a time stamp: %w", err)
	}
	answer, err := s.ask(ctx, question)
	if err != nil {
		return Stamp{}, err
	}
	made, err := Read(c, answer, s.options.Roots)
	if err != nil {
		return Stamp{}, err
	}
	if t, err := timestamp.ParseResponse(answer); err != nil || t.Nonce == nil || t.Nonce.Cmp(nonce) != 0 {
		return Stamp{}, errors.New("the time stamp answers an earlier request: somebody on the way may have kept and resent it")
	}
	return made, s.keep(c, answer)
}

// ask sends a question as RFC 3161, 3.4 says.
func (s *Stamper) ask(ctx context.Context, question []byte) ([]byte, error) {
	request, err := http.NewRequestWithContext(ctx, http.MethodPost, s.options.URL, bytes.NewReader(question))
	if err != nil {
		return nil, fmt.Errorf("the address for time stamps: %w", err)
	}
	request.Header.Set("Content-Type", "application/timestamp-query")
	answer, err := s.client.Do(request)
	if err != nil {
		return nil, fmt.Errorf("the time-stamping authority: %w", err)
	}
	defer answer.Body.Close()
	if answer.StatusCode != http.StatusOK {
		return nil, fmt.Errorf("the time-stamping authority answered %s", answer.Status)
	}
	text, err := io.ReadAll(io.LimitReader(answer.Body, mostAnswer))
	if err != nil {
		return nil, fmt.Errorf("the answer of the time-stamping authority: %w", err)
	}
	return text, nil
}

// keep writes the answer first: a checkpoint without an answer would look like a lost one.
func (s *Stamper) keep(c book.Checkpoint, answer []byte) error {
	if err := os.MkdirAll(s.options.Folder, 0o700); err != nil {
		return fmt.Errorf("the folder for time stamps can't be made: %w", err)
	}
	name := filepath.Join(s.options.Folder, fmt.Sprintf("checkpoint-%d", c.Number))
	if err := disk.WriteBytes(name+answerEnding, 0o600, answer); err != nil {
		return fmt.Errorf("the time stamp can't be kept: %w", disk.Told(err))
	}
	if err := disk.WriteBytes(name+textEnding, 0o600, []byte(c.String())); err != nil {
		return fmt.Errorf("the checkpoint of a time stamp can't be kept: %w", disk.Told(err))
	}
	return nil
}
