package sensors

import (
	"math/rand/v2"
	"time"
)

// Waits between attempts to open a line: short at first, for a plug that was
// only moved, and never so long that a returned probe is left alone.
const (
	firstWait = 500 * time.Millisecond
	maxWait   = 30 * time.Second
)

// backoff gives the waits between attempts. The zero value is ready.
type backoff struct{ last time.Duration }

// next is how long to wait now: doubling, less up to a fifth by chance, so that
// lines that vanished together do not return in step.
func (b *backoff) next() time.Duration {
	b.last = min(max(2*b.last, firstWait), maxWait)
	return b.last - rand.N(b.last/5)
}

// reset starts over with the shortest wait.
func (b *backoff) reset() { b.last = 0 }
