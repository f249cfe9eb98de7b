package daemon

import (
	"context"
	"encoding/json"
	"slices"
	"sync"

	"wetside/daemon/history"
	"wetside/dashboard/keep"
	"wetside/rules/screentest"
	"wetside/sensors/quantity/phrase"
)

// screens are the tests of screens as the record book has them. The list is kept at
// hand, as the red page says what it holds and must never wait for the disk.
type screens struct {
	store *history.Store
	mu    sync.Mutex
	tests []screentest.Test
}

var _ keep.Screens = (*screens)(nil)

func openScreens(ctx context.Context, store *history.Store) (*screens, error) {
	s := &screens{store: store}
	for r, err := range store.EachRecord(ctx, history.Query{Kinds: []string{screentest.Kind}}) {
		if err != nil {
			return nil, err
		}
		t := screentest.Test{At: r.At, By: r.Person, Record: r.Number}
		if json.Unmarshal(r.Content, &t.Note) == nil {
			s.tests = append(s.tests, t)
		}
	}
	return s, nil
}

// ScreenTests are all tests so far.
func (s *screens) ScreenTests() []screentest.Test {
	s.mu.Lock()
	defer s.mu.Unlock()
	return slices.Clip(s.tests)
}

// KeepScreenTest records a test.
func (s *screens) KeepScreenTest(ctx context.Context, person string, n screentest.Note) (uint64, error) {
	if err := n.Complete(); err != nil {
		return 0, err
	}
	content, err := json.Marshal(n)
	if err != nil {
		return 0, phrase.Errorf("the test can't be written down: %w", err)
	}
	r, err := s.store.Record(ctx, history.Entry{Kind: screentest.Kind, Person: person, Content: content})
	if err != nil {
		return 0, phrase.Errorf("nothing was recorded: %w", err)
	}
	s.mu.Lock()
	defer s.mu.Unlock()
	s.tests = append(s.tests, screentest.Test{Note: n, At: r.At, By: person, Record: r.Number})
	return r.Number, nil
}
