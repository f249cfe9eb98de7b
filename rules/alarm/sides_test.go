package alarm_test

import (
	"math"
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"wetside/rules/alarm"
)

// A condition holds beyond its level, is gone from the other end of the deadband on, and between the two is what it was.
func TestADeadbandHoldsBeyondOneEndAndClearsAtTheOther(t *testing.T) {
	for _, c := range []struct {
		band alarm.Deadband
		want map[float64]alarm.Truth
	}{
		{alarm.Deadband{Raise: 50, Clear: 40}, map[float64]alarm.Truth{50.1: alarm.True, 50: alarm.Between, 40.1: alarm.Between,
			40: alarm.False, -60: alarm.False, math.Inf(1): alarm.True, math.NaN(): alarm.Unknown}},
		{alarm.Deadband{Raise: 50, Clear: 60}, map[float64]alarm.Truth{49.9: alarm.True, 50: alarm.Between, 59.9: alarm.Between,
			60: alarm.False, 70: alarm.False, math.Inf(-1): alarm.True, math.NaN(): alarm.Unknown}},
		{alarm.Deadband{Raise: 50, Clear: 50}, map[float64]alarm.Truth{50.1: alarm.True, 50: alarm.False}},
	} {
		for value, want := range c.want {
			require.Equal(t, want, c.band.Truth(value), "%g in %+v", value, c.band)
		}
	}
	low, err := alarm.Average.Below(50, 0.5)
	require.NoError(t, err)
	require.Equal(t, alarm.True, low.Truth(49.999))
	require.Equal(t, alarm.False, low.Truth(50.001), "without a deadband it is gone as soon as the level is passed")
	for _, bad := range [][2]float64{{math.NaN(), 1}, {math.Inf(1), 1}, {math.Inf(-1), 1}, {1, math.NaN()}, {1, math.Inf(1)}, {1, 0}} {
		_, err := alarm.Flow.Above(bad[0], bad[1])
		require.ErrorContains(t, err, "is not usable", "%v", bad)
	}
	for kind, want := range map[alarm.Kind]time.Duration{alarm.Equipment: 10 * time.Second, alarm.Average: 0, 0: 0,
		alarm.Temperature: time.Minute} {
		require.Equal(t, alarm.Profile{OnDelay: want, OffDelay: want}, kind.Profile())
	}
}

// What happened at either end of the time counts; ten alarms within ten minutes, both ends counted, are together.
func TestStatisticsCountBothEndsOfTheTime(t *testing.T) {
	dropped := moved("gas", 0, alarm.Unacknowledged, alarm.Suppressed)
	dropped.Rest = true
	early := moved("early", -1, alarm.Unacknowledged, alarm.Suppressed)
	early.Rest = true
	s := alarm.Count([]alarm.Transition{
		moved("gas", -5, alarm.Normal, alarm.Unacknowledged),
		moved("early", -5, alarm.Normal, alarm.Unacknowledged),
		moved("port", -3, alarm.Normal, alarm.Unacknowledged),
		early,
		dropped,
		moved("port", 0, alarm.Unacknowledged, alarm.Acknowledged),
		moved("air", 0, alarm.Normal, alarm.Unacknowledged),
		moved("a", 5, alarm.Normal, alarm.Unacknowledged),
		moved("b", 10, alarm.Normal, alarm.Unacknowledged),
		moved("c", 10.1, alarm.Normal, alarm.Unacknowledged),
		moved("d", 60, alarm.Normal, alarm.Unacknowledged),
		moved("d", 60.1, alarm.Unacknowledged, alarm.Acknowledged),
	}, alarm.Span{From: start(), To: start().Add(time.Hour)})
	require.Equal(t, 5, s.Raised)
	require.Equal(t, 3, s.Busiest)
	require.Equal(t, []time.Duration{3 * time.Minute}, s.Answered)
	require.Equal(t, 1, s.Dropped)
	require.ElementsMatch(t, []string{"a", "air", "b", "c", "d", "port"}, ids(s.Standing))
	require.ElementsMatch(t, []string{"a", "air", "b", "c", "d"}, ids(s.Unanswered))
	for state, unanswered := range map[alarm.State]bool{alarm.Returned: true, alarm.Acknowledged: false} {
		one := alarm.Count([]alarm.Transition{moved("x", 1, alarm.Unacknowledged, state)}, alarm.Span{From: start(), To: start().Add(time.Hour)})
		require.Len(t, one.Standing, 1, state)
		require.Equal(t, unanswered, len(one.Unanswered) == 1, state)
	}
	for _, state := range []alarm.State{alarm.Shelved, alarm.OutOfService} {
		one := alarm.Count([]alarm.Transition{moved("x", 1, alarm.Normal, state)}, alarm.Span{From: start(), To: start().Add(time.Hour)})
		require.Len(t, one.Apart, 1, state)
		require.Empty(t, one.Standing, state)
	}
}

// ANSI/ISA-18.2 (from memory): acknowledged are B to C and D to A.
func TestWhichTransitionsAreAnAnswer(t *testing.T) {
	for way, answers := range map[[2]alarm.State]bool{
		{alarm.Unacknowledged, alarm.Acknowledged}: true, {alarm.Returned, alarm.Normal}: true,
		{alarm.Acknowledged, alarm.Normal}:     false,
		{alarm.Unacknowledged, alarm.Returned}: false, {alarm.Returned, alarm.Unacknowledged}: false, {alarm.Shelved, alarm.Normal}: false,
	} {
		require.Equal(t, answers, alarm.Answers(way[0], way[1]), "%v", way)
	}
}

// The delays of the alarms here: 15 s to be raised and 10 s to be gone; a second less does neither.
func TestADelayIsOverWithItsLastSecond(t *testing.T) {
	l := newLife()
	l.signals[0].Holds = alarm.True
	l.step(0)
	l.step(14)
	require.Equal(t, alarm.Normal, l.state("port"))
	l.step(1)
	require.Equal(t, alarm.Unacknowledged, l.state("port"))
	require.Equal(t, l.now.Wall, l.set["port"].Raised)
	l.signals[0].Holds = alarm.False
	l.step(1)
	l.step(9)
	require.Equal(t, alarm.Unacknowledged, l.state("port"))
	l.step(1)
	require.Equal(t, alarm.Returned, l.state("port"))
	since := l.now.Wall
	l.step(5)
	require.Equal(t, since, l.set["port"].Since, "the state is as old as its last change")

	// A condition that comes and goes begins its delay anew each time.
	l = newLife()
	l.signals = l.signals[:1]
	for range 3 {
		l.signals[0].Holds = alarm.True
		l.step(1)
		l.step(13)
		l.signals[0].Holds = alarm.False
		l.step(1)
	}
	require.Empty(t, l.transitions)
}

func TestActsAskForANameAndAStateThatHasThem(t *testing.T) {
	l := newLife()
	l.signals[0].Holds = alarm.True
	l.step(0)
	l.step(15)
	by := alarm.By{Person: "Ada", Note: "looked"}
	for _, nobody := range []alarm.By{{}, {Person: " "}} {
		_, _, err := l.set.Acknowledge("port", nobody, l.now)
		require.ErrorContains(t, err, "needs a name")
	}
	set, moved, err := l.set.Acknowledge("port", by, l.now)
	require.NoError(t, err)
	require.Equal(t, "looked", set["port"].Note)
	require.Equal(t, "Ada: looked", moved.Cause.String())
	_, _, err = set.Acknowledge("port", by, l.now)
	require.ErrorContains(t, err, "nothing to acknowledge")
	shelved, _, err := set.Shelve("port", alarm.Shelving{By: by, Until: l.now.Wall.Add(time.Nanosecond)}, l.now)
	require.NoError(t, err)
	_, _, err = shelved.Shelve("port", alarm.Shelving{By: by, Until: l.now.Wall.Add(time.Hour)}, l.now)
	require.ErrorContains(t, err, "already")
	_, _, err = set.Shelve("port", alarm.Shelving{By: by, Until: l.now.Wall.Add(24*time.Hour + 1)}, l.now)
	require.ErrorContains(t, err, "within the next 24 hours")
	off, _, err := shelved.TakeOutOfService("port", by, l.now)
	require.NoError(t, err)
	require.Zero(t, off["port"].Until)
	_, _, err = off.Shelve("port", alarm.Shelving{By: by, Until: l.now.Wall.Add(time.Hour)}, l.now)
	require.ErrorContains(t, err, "switch it back on first")
	on, _, err := shelved.PutBack("port", by, l.now)
	require.NoError(t, err)
	require.Zero(t, on["port"].Until)
	require.Equal(t, alarm.Unacknowledged, l.state("port"), "what it was taken from stays as it was")
}

// What a record says that nobody knows is not brought back.
func TestOnlyARecordOfAStateIsRestored(t *testing.T) {
	for _, state := range []alarm.State{alarm.Unacknowledged, alarm.Acknowledged, alarm.Returned,
		alarm.Shelved, alarm.Suppressed, alarm.OutOfService} {
		require.Len(t, alarm.Set{}.Restore(alarm.Alarm{ID: "air", State: state}), 1, state)
	}
	require.True(t, alarm.Alarm{ID: "air", State: alarm.Normal}.Restorable())
	require.Empty(t, alarm.Set{}.Restore(alarm.Alarm{ID: "air", State: alarm.Normal}), "there is nothing to bring back")
	require.Empty(t, alarm.Set{}.Restore(alarm.Alarm{ID: "air", State: "of another version"}))
	require.Empty(t, alarm.Set{}.Restore(alarm.Alarm{State: alarm.Unacknowledged}))

	// What held before the restart waits for a reading: it is neither raised anew nor gone.
	l := newLife()
	l.set = alarm.Set{}.Restore(alarm.Alarm{ID: "port", State: alarm.Acknowledged, By: "Ada"})
	l.signals[0].Holds = alarm.Unknown
	l.step(100)
	require.Equal(t, alarm.Acknowledged, l.state("port"))
	l.signals[0].Holds = alarm.False
	l.step(1)
	require.Equal(t, alarm.Acknowledged, l.state("port"), "its delay begins with the reading")
	l.step(10)
	require.Equal(t, alarm.Normal, l.state("port"))

	// A reading within the deadband leaves it as it was before the restart.
	l = newLife()
	l.set = alarm.Set{}.Restore(alarm.Alarm{ID: "port", State: alarm.Acknowledged, By: "Ada"})
	l.signals[0].Holds = alarm.Between
	l.step(1)
	l.step(100)
	require.Equal(t, alarm.Acknowledged, l.state("port"), "it has not come right yet")
}

// A shelved alarm that is watched no more leaves by way of out of service; one that is out of service goes straight.
func TestAnAlarmThatIsPutAsideLeavesByTheDiagramToo(t *testing.T) {
	by := alarm.By{Person: "Ada", Note: "new cable"}
	for _, c := range []struct {
		aside func(l *life) (alarm.Set, alarm.Transition, error)
		ways  int
	}{
		{func(l *life) (alarm.Set, alarm.Transition, error) {
			return l.set.Shelve("port", alarm.Shelving{By: by, Until: l.now.Wall.Add(time.Hour)}, l.now)
		}, 2},
		{func(l *life) (alarm.Set, alarm.Transition, error) { return l.set.TakeOutOfService("port", by, l.now) }, 1},
	} {
		l := newLife()
		l.step(1)
		l.took(c.aside(l))
		before := len(l.transitions)
		l.signals = l.signals[1:]
		l.step(1)
		require.Len(t, l.transitions[before:], c.ways)
		require.Equal(t, alarm.Normal, l.transitions[len(l.transitions)-1].To)
		require.Equal(t, l.now.Wall, l.transitions[len(l.transitions)-1].Alarm.Since)
		require.Empty(t, l.set)
	}
}

// A probe that was explained by its port, and still can't be read when the port is back, has 15 s from its first reading on.
func TestWhatWasExplainedAndIsStillSilentHasItsWholeDelay(t *testing.T) {
	l := newLife()
	l.signals[1].Holds = alarm.True
	l.step(1)
	l.step(5)
	l.signals[0].Holds, l.signals[1].Holds = alarm.True, alarm.Unknown
	l.step(1)
	l.step(100)
	require.Equal(t, alarm.Suppressed, l.state("probe"))
	l.signals[0].Holds = alarm.False
	l.step(1)
	require.Equal(t, alarm.Normal, l.state("probe"))
	l.step(5)
	l.signals[1].Holds = alarm.True
	l.step(1)
	l.step(14)
	require.Equal(t, alarm.Normal, l.state("probe"))
	l.step(1)
	require.Equal(t, alarm.Unacknowledged, l.state("probe"))
	require.Equal(t, "probe is wrong", l.set["probe"].Text.String())
}

// An alarm that was never raised has no words of its own until somebody puts it aside; one that is explained has none either.
func TestWordsComeWithWhatPeopleSee(t *testing.T) {
	l := newLife()
	by := alarm.By{Person: "Ada", Note: "new cable"}
	l.step(1)
	l.took(l.set.TakeOutOfService("port", by, l.now))
	require.Empty(t, l.set["port"].Text.String())
	l.step(1)
	require.Equal(t, "port is wrong", l.set["port"].Text.String())
	for i := range l.signals {
		l.signals[i].Armed = false
	}
	l.step(1)
	require.Equal(t, alarm.Suppressed, l.state("gas"))
	require.Empty(t, l.set["gas"].Text.String())
}
