// Package outgoing is what senders to other servers have in common: a client that follows no
// redirect, a standing that others look at while one goroutine sends, and how far a sender has come.
package outgoing

import (
	"errors"
	"fmt"
	"io/fs"
	"net/http"
	"os"
	"strconv"
	"strings"
	"sync"
	"time"

	"wetside/daemon/history/disk"
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

// Bookmark is a file that keeps how far a sender has come, as one whole number, so that an outage or a
// restart loses nothing of what waits.
type Bookmark string

// Read gives the number; found is false when there is no file yet.
func (b Bookmark) Read() (place int64, found bool, err error) {
	data, err := os.ReadFile(string(b))
	if errors.Is(err, fs.ErrNotExist) {
		return 0, false, nil
	}
	if err == nil {
		place, err = strconv.ParseInt(strings.TrimSpace(string(data)), 10, 64)
	}
	if err != nil {
		return 0, false, fmt.Errorf("the place that was reached can't be read: delete %s to begin with what comes next: %w", b, err)
	}
	return place, true, nil
}

// Write puts the number on disk; the file is whole or the one before, whatever happens meanwhile.
func (b Bookmark) Write(place int64) error {
	if err := disk.WriteBytes(string(b), 0o600, fmt.Appendln(nil, place)); err != nil {
		return fmt.Errorf("the place that was reached can't be kept: %w", disk.Told(err))
	}
	return nil
}
