package alarm_test

import (
	"testing"
	"time"

	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"wetside/rules/alarm"
)

func followed(transitions ...alarm.Transition) *alarm.Lives {
	var l alarm.Lives
	for _, t := range transitions {
		l.Step(t)
	}
	return &l
}

// TestAnAlarmThatComesBackUnansweredIsTwoRaises has a fan that stops at 0 and runs again at
// 2, stops again at 6 and is acknowledged at 10: the second stop still stands.
func TestAnAlarmThatComesBackUnansweredIsTwoRaises(t *testing.T) {
	transitions := []alarm.Transition{
		moved("air", 0, alarm.Normal, alarm.Unacknowledged),
		moved("air", 2, alarm.Unacknowledged, alarm.Returned),
		moved("air", 6, alarm.Returned, alarm.Unacknowledged),
		moved("air", 10, alarm.Unacknowledged, alarm.Acknowledged),
	}
	all := followed(transitions...).All
	require.Len(t, all, 2)
	require.Equal(t, alarm.Returns, all[0].Unanswered)
	require.Equal(t, 2*time.Minute, all[0].Cleared.Sub(start()))
	require.Zero(t, all[0].Answered)
	require.Equal(t, 4*time.Minute, all[1].Answered.Sub(all[1].Raised.At.Wall))
	require.Zero(t, all[1].Cleared, "the second stop still stands")

	counted := alarm.Count(transitions, alarm.Span{From: start(), To: start().Add(time.Hour)})
	require.Equal(t, len(all), counted.Raised)
	require.Equal(t, []time.Duration{4 * time.Minute}, counted.Answered)

	before := all[1].AsOf(start().Add(7 * time.Minute))
	require.Zero(t, before.Answered, "at that moment nobody had acknowledged it yet")
	require.Zero(t, all[0].AsOf(start().Add(time.Minute)).Unanswered)
}

// What came later is not known yet at a moment; what is of that moment is.
func TestALifeAsOfAMomentKnowsWhatHadHappenedByThen(t *testing.T) {
	at := func(minutes int) time.Time { return start().Add(time.Duration(minutes) * time.Minute) }
	whole := alarm.Life{Answered: at(2), Screen: "the board", Done: "opened the window", By: "Ada", Named: at(4), Cleared: at(6), Ended: at(8),
		Unanswered: alarm.Returns}
	for minute, want := range map[int]alarm.Life{
		1: {},
		2: {Answered: at(2), Screen: "the board", Done: "opened the window"},
		3: {Answered: at(2), Screen: "the board", Done: "opened the window"},
		4: {Answered: at(2), Screen: "the board", Done: "opened the window", By: "Ada", Named: at(4)},
		6: {Answered: at(2), Screen: "the board", Done: "opened the window", By: "Ada", Named: at(4), Cleared: at(6)},
		8: whole,
	} {
		require.Equal(t, want, whole.AsOf(at(minute)), "%d min", minute)
	}
}

func TestAnEndingSaysWhatIsKnown(t *testing.T) {
	raised := moved("air", 0, alarm.Normal, alarm.Unacknowledged)
	for _, c := range []struct {
		rest bool
		to   alarm.State
		want alarm.Ending
	}{{true, alarm.Suppressed, alarm.Rests}, {false, alarm.Suppressed, alarm.Explained}, {false, alarm.Shelved, alarm.PutAside},
		{false, alarm.Returned, ""}} {
		l := followed(raised)
		ended := moved("air", 3, alarm.Unacknowledged, c.to)
		ended.Rest = c.rest
		l.Step(ended)
		require.Equal(t, c.want, l.All[0].Unanswered, "%s", c.to)
		require.Equal(t, 3*time.Minute, l.All[0].Cleared.Sub(start()))
	}
	l := followed(raised, moved("air", 1, alarm.Unacknowledged, alarm.Acknowledged), moved("air", 2, alarm.Acknowledged, alarm.Suppressed))
	require.Empty(t, l.All[0].Unanswered, "somebody had acknowledged it")

	aside := followed(moved("air", 0, alarm.Normal, alarm.OutOfService), moved("air", 60, alarm.OutOfService, alarm.Normal)).Apart
	require.Len(t, aside, 1)
	require.Equal(t, time.Hour, aside[0].Back.Sub(aside[0].Since.At.Wall))
}

// A report keeps the lives of past sessions and goes on from them: whatever happened before and
// comes after, they are those of somebody who followed all of it.
func TestLivesThatWereKeptGoOnAsIfTheyHadNeverBeenPutDown(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		diagram, at := arrows(), map[string]alarm.State{"air": alarm.Normal, "gas": alarm.Normal}
		var all []alarm.Transition
		for minute := range rapid.IntRange(1, 30).Draw(t, "transitions") {
			id := rapid.SampledFrom([]string{"air", "gas"}).Draw(t, "which")
			to := rapid.SampledFrom(diagram[at[id]]).Draw(t, "to")
			all = append(all, moved(id, float64(minute), at[id], to))
			at[id] = to
		}
		kept := rapid.IntRange(0, len(all)).Draw(t, "kept")
		resumed := followed(all[:kept]...).Kept().Resume()
		for _, x := range all[kept:] {
			resumed.Step(x)
		}
		whole := followed(all...)
		require.Equal(t, whole.All, resumed.All)
		require.Equal(t, whole.Apart, resumed.Apart)
	})
}

func TestWhenAnAlarmCameBackStandsWhateverComesLater(t *testing.T) {
	l := followed(moved("air", 0, alarm.Normal, alarm.Shelved), moved("air", 3, alarm.Shelved, alarm.Normal),
		moved("air", 5, alarm.Normal, alarm.Unacknowledged))
	require.Equal(t, 3*time.Minute, l.Apart[0].Back.Sub(start()))
}
