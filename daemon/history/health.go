package history

import (
	"maps"
	"os"
	"sync"
	"time"
)

// Health says whether history is being kept, and how fast.
type Health struct {
	// Writable is false from a failed commit to the next one that succeeds.
	Writable bool
	// Problem is a sentence for people, empty while Writable.
	Problem string
	// Unsealed is why the last attempt to seal or to move the log failed, empty when it
	// did not. Nothing is lost by it, but the file grows.
	Unsealed string
	// Broken is the first record of the book that does not hold, in a sentence; empty
	// while none is known.
	Broken string
	// LastCommit and LastDurable are when samples were last committed, and when
	// everything committed was last known to be on disk; zero before the first.
	LastCommit, LastDurable time.Time
	// Failed counts commits that failed since the start.
	Failed uint64
	// Commits and Durable time the commits that don't wait for the disk and those that do.
	Commits, Durable Timing
	// Queued is how many jobs wait to be written.
	Queued int
	// FileBytes and LogBytes are the sizes of the file and of its write-ahead log.
	FileBytes, LogBytes int64
}

// Timing is the distribution of a duration since the start.
type Timing struct {
	Count uint64
	Sum   time.Duration
	// Buckets counts, for each bound in seconds, the durations up to that bound.
	Buckets map[float64]uint64
}

func newTiming() Timing {
	t := Timing{Buckets: map[float64]uint64{}}
	for _, bound := range []float64{0.0001, 0.0003, 0.001, 0.003, 0.01, 0.03, 0.1, 0.3, 1, 3} { // seconds
		t.Buckets[bound] = 0
	}
	return t
}

func (t *Timing) add(d time.Duration) {
	t.Count++
	t.Sum += d
	for bound := range t.Buckets {
		if d.Seconds() <= bound {
			t.Buckets[bound]++
		}
	}
}

func (t Timing) clone() Timing {
	t.Buckets = maps.Clone(t.Buckets)
	return t
}

// pulse is the part of Health that the writer notes.
type pulse struct {
	mu     sync.Mutex
	health Health
	whole  Inspection
}

// commitNote is what is to be said of one commit.
type commitNote struct {
	durable bool
	began   time.Time
	err     error
}

func (p *pulse) committed(n commitNote) {
	p.mu.Lock()
	defer p.mu.Unlock()
	h := &p.health
	if n.err != nil {
		h.Writable, h.Problem = false, n.err.Error()
		h.Failed++
		return
	}
	h.Writable, h.Problem = true, ""
	h.LastCommit = time.Now().UTC()
	if n.durable {
		h.LastDurable = h.LastCommit
		h.Durable.add(time.Since(n.began))
		return
	}
	h.Commits.add(time.Since(n.began))
}

// Trouble is why history is not being kept, and why the book does not hold; each is empty
// while all is well.
func (s *Store) Trouble() (problem, broken string) {
	s.health.mu.Lock()
	defer s.health.mu.Unlock()
	return s.health.health.Problem, s.health.health.Broken
}

func (p *pulse) keeping(err error) {
	p.mu.Lock()
	defer p.mu.Unlock()
	p.health.Unsealed = ""
	if err != nil {
		p.health.Unsealed = err.Error()
	}
}

// Health tells how the history does; it never waits for the disk.
func (s *Store) Health() Health {
	s.health.mu.Lock()
	h := s.health.health
	h.Commits, h.Durable = h.Commits.clone(), h.Durable.clone()
	s.health.mu.Unlock()
	h.Queued = len(s.jobs)
	h.FileBytes, h.LogBytes = fileSize(s.path), fileSize(s.path+"-wal")
	return h
}

// fileSize is 0 for a file that is not there.
func fileSize(path string) int64 {
	info, err := os.Stat(path)
	if err != nil {
		return 0
	}
	return info.Size()
}
