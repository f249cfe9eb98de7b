// Package outgoing is what senders to other servers have in common: a client that follows no
// redirect, and a standing that others look at while one goroutine sends.
package outgoing

import (
	"net/http"
	"sync"
	"time"
)

// Client asks a server whose address the configuration gives, and never one that it is sent on
// to. A nil way is that of every program.
func Client(within time.Duration, way http.RoundTripper) *http.Client {
	return &http.Client{Timeout: within, Transport: way,
		CheckRedirect: func(*http.Request, []*http.Request) error { return http.ErrUseLastResponse }}
}

// Way is a way of its own to a server, for a sender that changes something about it.
func Way() *http.Transport { return http.DefaultTransport.(*http.Transport).Clone() }

// Standing is how a sender does. Its goroutine changes it, and everybody may look.
type Standing[T any] struct {
	mu  sync.Mutex
	now T
}

// Get gives the present standing.
func (s *Standing[T]) Get() T {
	s.mu.Lock()
	defer s.mu.Unlock()
	return s.now
}

// Change changes the standing, in one piece for whoever looks.
func (s *Standing[T]) Change(change func(*T)) {
	s.mu.Lock()
	defer s.mu.Unlock()
	change(&s.now)
}
