package viewtest

import (
	"context"
	"sync"

	"wetside/chem"
	"wetside/dashboard/class"
	"wetside/rules/timers"
	"wetside/sensors"
	"wetside/sensors/quantity/phrase"
)

var _ class.Timers = (*Stage)(nil)

// bench holds the timers of the invented room.
type bench struct {
	mu    sync.Mutex
	set   timers.Set
	fails error
}

// Timers are the timers of the room at the stage's moment.
func (s *Stage) Timers(string) timers.View {
	s.bench.mu.Lock()
	defer s.bench.mu.Unlock()
	now := s.Clock.Now()
	s.bench.set = s.bench.set.Advance(now.Mono, func(bath string) chem.BathTemperature { return s.bathAt(bath, now) }).Follow(now.Mono,
		s.Now().Rooms[0].BehindDeveloper)
	return s.bench.set.View(now.Mono)
}

// PressTimer carries out a press as a room's loop would.
func (s *Stage) PressTimer(_ context.Context, _ string, p timers.Press) error {
	snap := s.Now().Rooms[0]
	s.bench.mu.Lock()
	defer s.bench.mu.Unlock()
	if s.bench.fails != nil {
		return s.bench.fails
	}
	var in chem.Inputs
	for _, b := range snap.Baths {
		if b.Bath.ID == p.Bath {
			var err error
			if in, err = b.Developing(); err != nil {
				in.Refusal = phrase.Say("%v", err)
			}
		}
	}
	after, err := s.bench.set.Press(p, timers.Known{Inputs: in, Line: snap.BehindDeveloper}, s.Clock.Now().Mono)
	s.bench.set = after
	return err
}

// FailTimers lets every press fail; nil lets them work again.
func (s *Stage) FailTimers(err error) {
	s.bench.mu.Lock()
	defer s.bench.mu.Unlock()
	s.bench.fails = err
}

// ForgetTimers is what a program that was started again knows of timers: nothing.
func (s *Stage) ForgetTimers() {
	s.bench.mu.Lock()
	defer s.bench.mu.Unlock()
	s.bench.set = timers.Set{}
}

// bathAt is the temperature of a bath as the newest snapshot has it.
func (s *Stage) bathAt(bath string, now sensors.Instant) chem.BathTemperature {
	for _, b := range s.Now().Rooms[0].Baths {
		if c, known := b.Temperature(); b.Bath.ID == bath && known && now.Since(s.Now().Rooms[0].At) < b.Channel.Channel.Silence {
			return chem.Measured(c, b.Bath.Accuracy)
		}
	}
	return chem.BathTemperature{}
}

// Restarted makes the program one that was started just now.
func (s *Stage) Restarted() {
	s.mu.Lock()
	defer s.mu.Unlock()
	s.site.Started = s.Clock.Now().Wall
}
