// Package clocktest is a clock that stands still until a test moves it, so that
// thirty minutes of a room pass in the time that its arithmetic takes.
package clocktest

import (
	"slices"
	"sync"
	"time"

	"wetside/sensors"
)

// Manual is a [sensors.Clock] that moves only by [Manual.Advance] and
// [Manual.Step]. It may be used from several goroutines. Two goroutines
// advancing at once is allowed but makes little sense.
type Manual struct {
	mu      sync.Mutex
	changed *sync.Cond // the number of waiters has changed
	now     sensors.Instant
	waiters []waiter // by due time; equal ones in the order they came
}

type waiter struct {
	due   time.Duration // on the monotonic scale, which never steps
	fires chan<- time.Time
}

var _ sensors.Clock = (*Manual)(nil)

// New is a clock that stands at start with its monotonic time at zero.
func New(start time.Time) *Manual {
	c := &Manual{now: sensors.Instant{Wall: start.Round(0).UTC()}}
	c.changed = sync.NewCond(&c.mu)
	return c
}

// Now is the moment at which the clock stands.
func (c *Manual) Now() sensors.Instant {
	c.mu.Lock()
	defer c.mu.Unlock()
	return c.now
}

// Real is the computer's own time as far as a test is concerned: it stands, since the time
// that a test takes between two moves of the clock is no time in which the program stood still.
func (*Manual) Real() time.Time { return time.Unix(0, 0) }

// After delivers once when the clock has been advanced by d in all, and at once
// if d is zero or less. Steps of the wall clock neither hasten nor delay it.
func (c *Manual) After(d time.Duration) <-chan time.Time {
	c.mu.Lock()
	defer c.mu.Unlock()
	fires := make(chan time.Time, 1)
	if d <= 0 {
		fires <- c.now.Wall
		return fires
	}
	w := waiter{due: c.now.Mono + d, fires: fires}
	at, _ := slices.BinarySearchFunc(c.waiters, w.due, func(x waiter, due time.Duration) int {
		if x.due > due {
			return 1
		}
		return -1
	})
	c.waiters = slices.Insert(c.waiters, at, w)
	c.changed.Broadcast()
	return fires
}

// Advance lets d pass in both times and delivers to everyone whose time has
// come, the earliest first. It does not wait for what they do with it: somebody
// who wants to be woken every second is woken once by an Advance of a minute.
// So a test that drives such a loop advances in steps, with [Manual.BlockUntil]
// between them.
func (c *Manual) Advance(d time.Duration) {
	c.mu.Lock()
	defer c.mu.Unlock()
	end := c.now.Mono + max(d, 0)
	for len(c.waiters) > 0 && c.waiters[0].due <= end {
		first := c.waiters[0]
		c.waiters = c.waiters[1:]
		c.moveTo(first.due)
		first.fires <- c.now.Wall
	}
	c.moveTo(end)
	c.changed.Broadcast()
}

func (c *Manual) moveTo(mono time.Duration) {
	c.now.Wall = c.now.Wall.Add(mono - c.now.Mono)
	c.now.Mono = mono
}

// Step sets the wall clock forward, or back if d is negative, as somebody who
// corrects it does. No monotonic time passes.
func (c *Manual) Step(d time.Duration) {
	c.mu.Lock()
	defer c.mu.Unlock()
	c.now.Wall = c.now.Wall.Add(d)
}

// Waiters is the number of channels given by After whose time has not come. One
// that nobody receives from any longer counts until then.
func (c *Manual) Waiters() int {
	c.mu.Lock()
	defer c.mu.Unlock()
	return len(c.waiters)
}

// BlockUntil returns as soon as at least n channels given by After are waiting
// for their time.
func (c *Manual) BlockUntil(n int) {
	c.mu.Lock()
	defer c.mu.Unlock()
	for len(c.waiters) < n {
		c.changed.Wait()
	}
}
