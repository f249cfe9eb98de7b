package ventilation_test

import (
	"testing"
	"time"

	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"wetside/rules/ventilation"
)

// evenings gives runs of the given minutes, one a week before an evening.
func evenings(minutes ...float64) []ventilation.Run {
	runs := make([]ventilation.Run, len(minutes))
	for i, m := range minutes {
		start := evening().AddDate(0, 0, -7*(len(minutes)-i))
		runs[i] = ventilation.Run{Start: start, Stop: start.Add(time.Duration(m * float64(time.Minute)))}
	}
	return runs
}

func TestFanTimerIsRecognisedBeforeItStops(t *testing.T) {
	// A two-hour count-down in a three-hour class; two evenings ended earlier by hand.
	earlier := evenings(120.2, 47, 119.8, 93, 120)
	started := evening().Add(35 * time.Minute)
	stop, found := ventilation.FindTimedStop(earlier, started, started.Add(10*time.Minute))
	require.True(t, found)
	require.Equal(t, 3, stop.Seen)
	require.Equal(t, 5, stop.Of)
	require.Equal(t, "20:35", stop.At.Format("15:04"))

	warning, needed := stop.Warning(evening().Add(3 * time.Hour))
	require.True(t, needed)
	require.Equal(t, "The fan stops by itself at about 20:35, the session ends at 21:00: it stopped after 120 min in 3 of the last 5 "+
		"runs. Start its timer again before then.", warning.String())
	_, needed = stop.Warning(evening().Add(2 * time.Hour))
	require.False(t, needed)

	_, found = ventilation.FindTimedStop(earlier, started, started.Add(2*time.Hour+5*time.Minute))
	require.False(t, found, "the run has outlasted the timer: it was started again")
	_, found = ventilation.FindTimedStop(earlier, started, started.Add(-time.Minute))
	require.False(t, found, "the clock went back")
}

func TestNoTimerIsSeenWhereThereIsNone(t *testing.T) {
	started := evening()
	for name, runs := range map[string][]ventilation.Run{
		"no runs":               nil,
		"two alike":             evenings(120, 120),
		"by hand":               evenings(171, 183, 176, 190, 165, 179.9),
		"mostly longer by hand": evenings(120, 120, 120, 150, 160, 170),
	} {
		_, found := ventilation.FindTimedStop(runs, started, started.Add(time.Minute))
		require.False(t, found, name)
	}
}

func TestFanTimerIsFoundWhateverItsLength(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		length := rapid.Float64Range(15, 400).Draw(t, "minutes")
		var minutes []float64
		for range rapid.IntRange(3, 12).Draw(t, "runs") {
			minutes = append(minutes, length+rapid.Float64Range(-0.7, 0.7).Draw(t, "jitter"))
		}
		stop, found := ventilation.FindTimedStop(evenings(minutes...), evening(), evening())
		require.True(t, found)
		require.InDelta(t, length, stop.At.Sub(evening()).Minutes(), 0.71)
	})
}

func TestRunsCountOnlyIfBothEndsWereSeen(t *testing.T) {
	at := func(m int) time.Time { return evening().Add(time.Duration(m) * time.Minute) }
	done, current := ventilation.Runs([]ventilation.Change{
		{at(0), ventilation.Moving}, // start not seen
		{at(10), ventilation.Stopped},
		{at(20), ventilation.Moving},
		{at(25), ventilation.Low}, // still running
		{at(30), ventilation.Moving},
		{at(140), ventilation.Stopped}, // 120 min
		{at(150), ventilation.Moving},
		{at(160), ventilation.NotProven}, // probe lost
		{at(170), ventilation.Moving},
		{at(180), ventilation.Stopped}, // length not known
		{at(200), ventilation.Low},     // under way
	})
	require.Equal(t, []ventilation.Run{{at(20), at(140)}}, done)
	require.Equal(t, 2*time.Hour, done[0].Length())
	start, running := current.Get()
	require.True(t, running)
	require.Equal(t, at(200), start)

	done, current = ventilation.Runs([]ventilation.Change{
		{at(0), ventilation.Stopped}, {at(10), ventilation.Uneven}, {at(70), ventilation.Stopped}, {at(80), ventilation.Moving}, {at(100),
			ventilation.Stopped}})
	require.Equal(t, []ventilation.Run{{at(10), at(70)}, {at(80), at(100)}}, done)
	require.False(t, current.IsKnown())
	done, current = ventilation.Runs(nil)
	require.Empty(t, done)
	require.False(t, current.IsKnown())
}
