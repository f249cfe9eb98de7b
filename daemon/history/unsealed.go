package history

import (
	"maps"
	"slices"

	"wetside/daemon/history/pack"
)

// unsealed is what the tail holds of one channel, by quarter of an hour; a reader
// takes it along with the sealed quarters, in order.
type unsealed struct {
	samples map[int64][]pack.Sample
	waiting []int64 // the quarters not yet taken, in order
}

// unsealed reads what the tail holds of a channel in the quarters that t touches.
func (v view) unsealed(code int64, t span) (unsealed, error) {
	first, end := t.quarters()
	u := unsealed{samples: map[int64][]pack.Sample{}}
	err := v.eachTail(first, end, func(s tailSample) {
		if int64(s.channel) == code {
			u.samples[s.quarter()] = append(u.samples[s.quarter()], s.Sample)
		}
	})
	u.waiting = slices.Sorted(maps.Keys(u.samples))
	return u, err
}

// before hands on the quarters that come before the given one.
func (u *unsealed) before(quarter int64, each func(quarter int64, samples []pack.Sample) error) error {
	for len(u.waiting) > 0 && u.waiting[0] < quarter {
		next := u.waiting[0]
		u.waiting = u.waiting[1:]
		if err := each(next, u.samples[next]); err != nil {
			return err
		}
	}
	return nil
}

// next gives the samples of a quarter, if they are the next ones.
func (u *unsealed) next(quarter int64) []pack.Sample {
	if len(u.waiting) == 0 || u.waiting[0] != quarter {
		return nil
	}
	u.waiting = u.waiting[1:]
	return u.samples[quarter]
}
