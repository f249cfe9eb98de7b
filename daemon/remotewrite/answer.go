package remotewrite

import (
	"context"
	"fmt"
	"net/http"
	"sync"
	"time"

	"github.com/prometheus/client_golang/exp/api/remote"
	"go.uber.org/zap"
)

// answering carries requests and remembers the status of the last answer.
type answering struct {
	token  string
	status int
}

// RoundTrip carries one request.
func (a *answering) RoundTrip(r *http.Request) (*http.Response, error) {
	a.status = 0
	if a.token != "" {
		r = r.Clone(r.Context())
		r.Header.Set("Authorization", "Bearer "+a.token)
	}
	answer, err := http.DefaultTransport.RoundTrip(r)
	if err == nil {
		a.status = answer.StatusCode
	}
	return answer, err
}

// refused says that the samples themselves are not wanted, which asking again would not
// change. Every other failure is one of the way there, and the samples wait.
func (a *answering) refused() bool {
	return a.status == http.StatusBadRequest || a.status == http.StatusUnprocessableEntity
}

// send sends a request. What the receiver takes for wrong is counted and let go.
func (s *Sender) send(ctx context.Context, b batch) error {
	stats, err := s.api.Write(ctx, remote.WriteV2MessageType, b.request)
	switch {
	case err == nil || s.answer.refused():
		written := min(stats.Samples, b.count)
		s.count(written, b.count-written)
		if written < b.count {
			s.options.Log.Error("the receiver of remote write refused samples", zap.Int("refused", b.count-written), zap.Error(err))
		}
		return nil
	case s.answer.status == http.StatusRequestEntityTooLarge && s.shorten():
		return fmt.Errorf("a request was too large and will be sent in smaller ones: %w", err)
	}
	return err
}

// Standing is how the sending does.
type Standing struct {
	// Written and Rejected count samples since the start, Failed attempts that did not get through.
	Written, Rejected, Failed uint64
	// Behind is how old the oldest reading is that may still wait.
	Behind time.Duration
	// Problem is why nothing gets through; empty while all is well.
	Problem string
}

// pulse is the part of a sender that others may look at.
type pulse struct {
	mu       sync.Mutex
	standing Standing
}

// Standing tells how the sending does.
func (p *pulse) Standing() Standing {
	p.mu.Lock()
	defer p.mu.Unlock()
	return p.standing
}

func (p *pulse) count(written, rejected int) {
	p.mu.Lock()
	defer p.mu.Unlock()
	p.standing.Written += uint64(written)
	p.standing.Rejected += uint64(rejected)
}

func (p *pulse) note(err error, behind time.Duration) {
	p.mu.Lock()
	defer p.mu.Unlock()
	p.standing.Behind, p.standing.Problem = max(behind, 0), ""
	if err != nil {
		p.standing.Problem = err.Error()
		p.standing.Failed++
	}
}
