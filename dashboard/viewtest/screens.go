package viewtest

import (
	"context"
	"sync"

	"wetside/rules/screentest"
)

// Screens keeps tests of screens in memory; Err is what every one is refused with instead.
type Screens struct {
	mu    sync.Mutex
	tests []screentest.Test
	Err   error
}

// ScreenTests are all that were kept.
func (s *Screens) ScreenTests() []screentest.Test {
	s.mu.Lock()
	defer s.mu.Unlock()
	return s.tests[:len(s.tests):len(s.tests)]
}

// KeepScreenTest keeps a test as made on the invented evening.
func (s *Screens) KeepScreenTest(_ context.Context, person string, n screentest.Note) (uint64, error) {
	s.mu.Lock()
	defer s.mu.Unlock()
	if s.Err != nil {
		return 0, s.Err
	}
	number := uint64(41 + len(s.tests))
	s.tests = append(s.tests, screentest.Test{Note: n, At: Evening(), By: person, Record: number})
	return number, nil
}
