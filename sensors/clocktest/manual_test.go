package clocktest_test

import (
	"fmt"
	"slices"
	"testing"
	"time"

	"github.com/stretchr/testify/require"
	"go.uber.org/goleak"
	"pgregory.net/rapid"

	"wetside/sensors/clocktest"
)

func TestMain(m *testing.M) { goleak.VerifyTestMain(m) }

func evening() time.Time { return time.Date(2026, 1, 15, 18, 0, 0, 0, time.UTC) }

func TestAdvanceMovesBothTimesAndStepOnlyTheWall(t *testing.T) {
	c := clocktest.New(evening())
	require.Equal(t, evening(), c.Now().Wall)
	require.Zero(t, c.Now().Mono)

	c.Advance(90 * time.Second)
	require.Equal(t, evening().Add(90*time.Second), c.Now().Wall)
	require.Equal(t, 90*time.Second, c.Now().Mono)

	c.Step(-time.Hour)
	require.Equal(t, evening().Add(90*time.Second-time.Hour), c.Now().Wall)
	require.Equal(t, 90*time.Second, c.Now().Mono)

	c.Advance(-time.Second)
	require.Equal(t, 90*time.Second, c.Now().Mono, "monotonic time never goes back")
}

func TestAfterDeliversOnceWhenItsTimeHasCome(t *testing.T) {
	c := clocktest.New(evening())
	ch := c.After(2 * time.Second)
	c.Advance(2*time.Second - 1)
	require.Empty(t, ch)
	c.Step(time.Hour)
	require.Empty(t, ch, "setting the wall clock lets no time pass")
	c.Advance(1)
	require.Equal(t, evening().Add(time.Hour+2*time.Second), <-ch)
	c.Advance(time.Minute)
	require.Empty(t, ch)
	require.Len(t, c.After(0), 1)
	require.Len(t, c.After(-time.Second), 1)
}

func TestBlockUntilWaitsForALoopToComeBack(t *testing.T) {
	c := clocktest.New(evening())
	const ticks = 1800
	seen := make(chan time.Duration, ticks)
	go func() {
		defer close(seen)
		for range ticks {
			<-c.After(time.Second)
			seen <- c.Now().Mono
		}
	}()
	for range ticks {
		c.BlockUntil(1)
		c.Advance(time.Second)
	}
	n := time.Duration(0)
	for at := range seen {
		n++
		require.GreaterOrEqual(t, at, n*time.Second)
	}
	require.EqualValues(t, ticks, n)
	require.Zero(t, c.Waiters())
}

func TestEveryWaiterFiresInOrderAndNoneBeforeItsTime(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		c := clocktest.New(evening())
		delays := rapid.SliceOf(rapid.IntRange(1, 1000)).Draw(t, "delays in ms")
		channels := make([]<-chan time.Time, len(delays))
		for i, d := range delays {
			channels[i] = c.After(time.Duration(d) * time.Millisecond)
		}
		require.Equal(t, len(delays), c.Waiters())
		passed := rapid.IntRange(0, 1000).Draw(t, "passed in ms")
		c.Advance(time.Duration(passed) * time.Millisecond)
		for i, d := range delays {
			if d > passed {
				require.Empty(t, channels[i])
				continue
			}
			require.Equal(t, evening().Add(time.Duration(d)*time.Millisecond), <-channels[i])
		}
		due := func(d int) bool { return d <= passed }
		require.Equal(t, len(slices.DeleteFunc(delays, due)), c.Waiters())
	})
}

func ExampleManual() {
	clock := clocktest.New(time.Date(2026, 1, 15, 18, 0, 0, 0, time.UTC))
	bell := clock.After(90 * time.Second)
	clock.Advance(2 * time.Minute)
	fmt.Println((<-bell).Format("15:04:05"), clock.Now().Wall.Format("15:04:05"))
	// Output: 18:01:30 18:02:00
}
