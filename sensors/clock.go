package sensors

import (
	"context"
	"math/rand/v2"
	"time"
)

// Instant is one moment in both of the times that wetside keeps: wall time for
// records, monotonic time for ages and durations. The two may drift apart when
// somebody sets the clock; Mono never steps.
type Instant struct {
	// Wall is in UTC, without a monotonic part.
	Wall time.Time
	// Mono is the time since the daemon was started.
	Mono time.Duration
}

// Since is the monotonic time that has passed from earlier to i.
func (i Instant) Since(earlier Instant) time.Duration { return i.Mono - earlier.Mono }

// Clock tells the time. It is injected once; a simulated room swaps it.
type Clock interface {
	// Now is the present moment.
	Now() Instant
	// After delivers once when d has passed on this clock.
	After(d time.Duration) <-chan time.Time
}

// SystemClock is the computer's clock, optionally run faster for a simulated room.
type SystemClock struct {
	start time.Time
	speed float64
}

// NewSystemClock starts a clock at the present time. A speed of 1 is real time;
// a simulated room may run faster. Speeds below 1 are taken as 1.
func NewSystemClock(speed float64) *SystemClock {
	return &SystemClock{start: time.Now(), speed: max(speed, 1)}
}

// Now is the present moment. At speed 1 the wall time is the computer's own, so
// that a step of that clock can be seen against the monotonic time.
func (c *SystemClock) Now() Instant {
	now := time.Now()
	elapsed := time.Duration(float64(now.Sub(c.start)) * c.speed)
	wall := now
	if c.speed != 1 {
		wall = c.start.Add(elapsed)
	}
	return Instant{Wall: wall.Round(0).UTC(), Mono: elapsed}
}

// After delivers once when d has passed on this clock.
func (c *SystemClock) After(d time.Duration) <-chan time.Time {
	return time.After(time.Duration(float64(d) / c.speed))
}

// Waits between attempts to open a line: short at first, for a plug that was
// only moved, and never so long that a returned probe is left alone.
const (
	firstWait = 500 * time.Millisecond
	maxWait   = 30 * time.Second
	// absentWait is the longest wait for a plug: to look whether it is there costs nothing.
	absentWait = 2 * time.Second
)

// Backoff gives the waits between attempts: First, then doubling up to Longest, both longer
// than 5 ns. One goroutine owns it.
type Backoff struct {
	First, Longest time.Duration
	last           time.Duration
}

// Next is how long to wait now: doubling, less up to a fifth by chance, so that
// those that failed together do not return in step.
func (b *Backoff) Next() time.Duration {
	b.last = min(max(2*b.last, b.First), b.Longest)
	return b.last - rand.N(b.last/5)
}

// Reset starts over with the first wait.
func (b *Backoff) Reset() { b.last = 0 }

// Failing says that the newest attempt failed.
func (b *Backoff) Failing() bool { return b.last > 0 }

// Pause lets a time go by on a clock; false says that ctx ended before.
func Pause(ctx context.Context, c Clock, d time.Duration) bool {
	select {
	case <-ctx.Done():
		return false
	case <-c.After(d):
		return true
	}
}
