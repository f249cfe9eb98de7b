package sensors

import (
	"testing"
	"time"

	"github.com/stretchr/testify/require"
)

func TestWhatWaitedWhileTheProgramStoodStillHasTheEarliestDate(t *testing.T) {
	begin := time.Date(2026, 9, 1, 18, 0, 0, 0, time.UTC)
	var s stall
	look := func(after time.Duration) (earliest time.Duration, waited bool) {
		now := Instant{Wall: begin.Add(after), Mono: after}
		s.look(begin.Add(after), now)
		at, waited := s.since(begin.Add(after), now)
		return at.Mono, waited
	}
	for _, c := range []struct {
		after, earliest time.Duration
		waited          bool
	}{
		{0, 0, false},
		{time.Second, time.Second, false},
		{4 * time.Second, 4 * time.Second, false},                       // as late as a busy computer may be
		{24 * time.Second, 4 * time.Second, true},                       // stood still for 20 s
		{24*time.Second + 900*time.Millisecond, 4 * time.Second, true},  // the queue is still being read
		{29 * time.Second, 24*time.Second + 900*time.Millisecond, true}, // again
		{31 * time.Second, 31 * time.Second, false},
	} {
		earliest, waited := look(c.after)
		require.Equal(t, c.earliest, earliest, c.after)
		require.Equal(t, c.waited, waited, c.after)
	}
}
