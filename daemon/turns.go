package daemon

import (
	"sync/atomic"
	"time"
)

// turnStats says how the loop of a room is doing. Written by the loop, read by anyone.
type turnStats struct {
	last  atomic.Int64 // monotonic time of the last turn
	count atomic.Uint64
	spent atomic.Int64 // time spent in turns, all together
}

func (t *turnStats) begin(mono time.Duration) { t.last.Store(int64(mono)) }

func (t *turnStats) end(from, to time.Duration) {
	t.last.Store(int64(to))
	t.count.Add(1)
	t.spent.Add(int64(to - from))
}

// idle is how long ago the last turn ended.
func (t *turnStats) idle(mono time.Duration) time.Duration {
	return mono - time.Duration(t.last.Load())
}
