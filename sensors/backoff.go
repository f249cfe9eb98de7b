package sensors

import (
	"context"
	"math/rand/v2"
	"time"
)

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
