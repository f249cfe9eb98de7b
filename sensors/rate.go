package sensors

import "time"

// minuteRate counts events over the last minute in buckets of a second. The
// zero value is ready for a clock that starts at zero.
type minuteRate struct {
	buckets [60]uint64
	sum     uint64
	first   int64 // the second of the first event
	last    int64 // the second up to which the buckets are current
	begun   bool
}

// add counts n events at a moment.
func (r *minuteRate) add(at Instant, n uint64) {
	r.turn(at)
	if !r.begun {
		r.begun, r.first = true, r.last
	}
	r.buckets[r.last%60] += n
	r.sum += n
}

// perMinute is the rate at a moment; in the first minute it is taken from the
// seconds that have passed.
func (r *minuteRate) perMinute(at Instant) float64 {
	r.turn(at)
	if !r.begun {
		return 0
	}
	return float64(r.sum) * 60 / float64(min(r.last-r.first+1, 60))
}

// turn empties the buckets of the seconds that have gone by.
func (r *minuteRate) turn(at Instant) {
	now := int64(at.Mono / time.Second)
	for s := max(r.last+1, now-59); s <= now; s++ {
		r.sum -= r.buckets[s%60]
		r.buckets[s%60] = 0
	}
	r.last = max(r.last, now)
}
