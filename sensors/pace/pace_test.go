package pace_test

import (
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"wetside/sensors/pace"
)

func TestWhatComesAtOneInstantIsDoneAtOnce(t *testing.T) {
	p := pace.Pace{Rest: 19, Most: time.Second}
	now := time.Now()
	for range 8 {
		require.False(t, p.Next().After(now))
		began := now
		now = now.Add(300 * time.Microsecond)
		p.Done(began, now)
	}
}

// TestWorkTakesItsShare asks for the work every millisecond, however long it takes.
func TestWorkTakesItsShare(t *testing.T) {
	for _, c := range []struct {
		takes time.Duration
		times int // that it is done in a second
	}{{40 * time.Microsecond, 961}, {500 * time.Microsecond, 105}, {5 * time.Millisecond, 42}} {
		p := pace.Pace{Rest: 19, Most: 20 * time.Millisecond}
		done, longest := 0, time.Duration(0)
		first := time.Now()
		for now := first; now.Sub(first) < time.Second; now = now.Add(time.Millisecond) {
			if wait := p.Next().Sub(now); wait > 0 {
				longest = max(longest, wait)
				now = now.Add(wait)
			}
			began := now
			now = now.Add(c.takes)
			p.Done(began, now)
			done++
		}
		require.InEpsilon(t, c.times, done, 0.05, c.takes)
		require.LessOrEqual(t, longest, p.Most, "nothing waits longer, however slow the computer")
	}
}
