package timers_test

import (
	"fmt"
	"testing"
	"time"

	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"wetside/chem"
	"wetside/rules/timers"
	"wetside/sensors/quantity"
)

// inputs are of an invented developer: 2:00 at 20 °C.
func inputs(t testing.TB, at quantity.Celsius) chem.Inputs {
	table, err := chem.NewTable("invented times for tests", []chem.Point{{At: 16, Time: 170 * time.Second},
		{At: 20, Time: 120 * time.Second}, {At: 24, Time: 85 * time.Second}})
	require.NoError(t, err)
	return chem.Inputs{Table: table, Temperature: chem.Measured(at, 0.3)}
}

// bench is a set with a timer of its own and baths at one temperature.
type bench struct {
	testing.TB
	set timers.Set
	now time.Duration
	at  chem.BathTemperature
	// of is what the times behind the developer depend on.
	of chem.Line
}

// line is that of two fixing baths, at the temperatures that the test sets.
func (b *bench) line(p chem.Paper) []chem.StageTime {
	l := b.of
	l.Way.Paper = p
	return l.Times()
}

func newBench(t testing.TB) *bench { return &bench{TB: t, at: chem.Measured(20, 0.3)} }

func (b *bench) press(p timers.Press) error {
	if p.Seen == 0 {
		p.Seen = b.view().Revision
	}
	var err error
	b.set, err = b.set.Press(p, timers.Known{Inputs: inputs(b.TB, 20), Line: b.line}, b.now)
	return err
}

func (b *bench) pass(d time.Duration) {
	for range int(d / time.Second) {
		b.now += time.Second
		b.set = b.set.Advance(b.now, func(string) chem.BathTemperature { return b.at }).Follow(b.now, b.line)
	}
}

func (b *bench) view() timers.View { return b.set.View(b.now) }

func TestSeveralTimersRunSideBySideAndAPausedOneWaits(t *testing.T) {
	b := newBench(t)
	require.NoError(t, b.press(timers.Press{Act: timers.Start, Bath: "developer"}))
	b.pass(30 * time.Second)
	require.NoError(t, b.press(timers.Press{Act: timers.Start, Bath: "second"}))
	b.pass(10 * time.Second)
	require.NoError(t, b.press(timers.Press{Act: timers.Pause, Number: 1}))
	b.pass(20 * time.Second)
	v := b.view()
	require.Len(t, v.Timers, 2)
	require.Equal(t, chem.TimerPaused, v.Timers[0].State)
	require.InDelta(t, 80, v.Timers[0].Left.Seconds(), 0.1, "it waits outside of the bath")
	require.InDelta(t, 90, v.Timers[1].Left.Seconds(), 0.1)
	require.Equal(t, "second", v.Timers[1].Bath)
	require.NoError(t, b.press(timers.Press{Act: timers.Resume, Number: 1}))
	b.pass(91 * time.Second)
	require.Equal(t, chem.TimerDone, b.view().Timers[0].State)
	require.Equal(t, chem.TimerDone, b.view().Timers[1].State)
}

func TestAPressCanBeTakenBackForOneMinute(t *testing.T) {
	b := newBench(t)
	require.NoError(t, b.press(timers.Press{Act: timers.Start, Bath: "developer"}))
	require.True(t, b.view().Undoable)
	require.NoError(t, b.press(timers.Press{Act: timers.Undo}))
	require.Empty(t, b.view().Timers, "it was never started")
	require.ErrorIs(t, b.press(timers.Press{Act: timers.Undo}), timers.ErrNoUndo)

	require.NoError(t, b.press(timers.Press{Act: timers.Start, Bath: "developer"}))
	b.pass(20 * time.Second)
	require.NoError(t, b.press(timers.Press{Act: timers.Pause, Number: 1}))
	b.pass(20 * time.Second)
	require.NoError(t, b.press(timers.Press{Act: timers.Undo}))
	require.InDelta(t, 80, b.view().Timers[0].Left.Seconds(), 0.1, "as if it had run on")

	require.NoError(t, b.press(timers.Press{Act: timers.Remove, Number: 1}))
	b.pass(20 * time.Second)
	require.Empty(t, b.view().Timers)
	require.NoError(t, b.press(timers.Press{Act: timers.Undo}))
	require.InDelta(t, 60, b.view().Timers[0].Left.Seconds(), 0.1)

	require.NoError(t, b.press(timers.Press{Act: timers.Remove, Number: 1}))
	b.pass(61 * time.Second)
	require.False(t, b.view().Undoable)
	require.ErrorIs(t, b.press(timers.Press{Act: timers.Undo}), timers.ErrNoUndo)
}

func TestAButtonThatBouncesActsOnceAndTwoPeopleAreTold(t *testing.T) {
	b := newBench(t)
	start := timers.Press{Act: timers.Start, Bath: "developer"}
	require.NoError(t, b.press(start))
	var err error
	b.set, err = b.set.Press(start, timers.Known{Inputs: inputs(t, 20)}, b.now) // the same press with what it saw
	require.NoError(t, err)
	require.Len(t, b.view().Timers, 1)
	b.set, err = b.set.Press(timers.Press{Act: timers.Start, Bath: "second"}, timers.Known{Inputs: inputs(t, 20)}, b.now)
	require.ErrorIs(t, err, timers.ErrOverlap)
	require.Len(t, b.view().Timers, 1)
}

func TestWhatCannotBeDoneIsSaid(t *testing.T) {
	b := newBench(t)
	require.ErrorIs(t, b.press(timers.Press{Act: timers.Pause, Number: 3}), timers.ErrNoTimer)
	require.ErrorIs(t, b.press(timers.Press{Act: timers.Remove, Number: 3}), timers.ErrNoTimer)
	require.Error(t, b.press(timers.Press{Act: "wind up"}))
	for range timers.Most {
		require.NoError(t, b.press(timers.Press{Act: timers.Start, Bath: "developer"}))
		b.pass(time.Second)
	}
	require.ErrorIs(t, b.press(timers.Press{Act: timers.Start, Bath: "developer"}), timers.ErrFull)
	require.NoError(t, b.press(timers.Press{Act: timers.Remove, Number: 4}))
	require.NoError(t, b.press(timers.Press{Act: timers.Start, Bath: "developer"}))
	require.Equal(t, 4, b.view().Timers[3].Number, "the free number is given again")
}

func TestWithoutATimeAPlainTimerRuns(t *testing.T) {
	b := newBench(t)
	var err error
	b.set, err = b.set.Press(timers.Press{Act: timers.Start, Bath: "developer"}, timers.Known{}, b.now)
	require.NoError(t, err, "the sheet goes in all the same")
	b.pass(90 * time.Second)
	c := b.view().Timers[0]
	require.Equal(t, chem.CountingUp, c.Following)
	require.Equal(t, 90*time.Second, c.Ran)
	require.Contains(t, c.Notice.String(), "no time table")
	b.pass(4 * time.Hour)
	require.Empty(t, b.view().Timers, "one that was forgotten goes")
}

func TestATimerLongPastItsEndGoes(t *testing.T) {
	b := newBench(t)
	require.NoError(t, b.press(timers.Press{Act: timers.Start, Bath: "developer"}))
	b.pass(31 * time.Minute)
	require.Len(t, b.view().Timers, 1)
	b.pass(2 * time.Minute)
	require.Empty(t, b.view().Timers)
}

// Undoing a press, whatever it was, leaves what would have been without it.
func TestUndoIsAsIfThePressHadNeverBeen(t *testing.T) {
	rapid.Check(t, func(rt *rapid.T) {
		b := newBench(t)
		require.NoError(t, b.press(timers.Press{Act: timers.Start, Bath: "developer"}))
		b.pass(time.Duration(rapid.IntRange(0, 60).Draw(rt, "before")) * time.Second)
		twin := *b
		act := rapid.SampledFrom([]timers.Act{timers.Start, timers.Pause, timers.Remove}).Draw(rt, "act")
		wait := time.Duration(rapid.IntRange(0, 59).Draw(rt, "wait")) * time.Second
		require.NoError(t, b.press(timers.Press{Act: act, Bath: "second", Number: 1}))
		b.pass(wait)
		twin.pass(wait)
		require.NoError(t, b.press(timers.Press{Act: timers.Undo}))
		is, would := b.view().Timers, twin.view().Timers
		require.Len(t, is, 1)
		require.Equal(t, would[0].State, is[0].State)
		require.InDelta(t, would[0].Left.Seconds(), is[0].Left.Seconds(), 1e-6)
	})
}

func ExampleSet() {
	table, _ := chem.NewTable("invented", []chem.Point{{At: 18, Time: 130 * time.Second}, {At: 22, Time: 110 * time.Second}})
	in := timers.Known{Inputs: chem.Inputs{Table: table, Temperature: chem.Measured(18, 0.3)}}
	var s timers.Set
	s, _ = s.Press(timers.Press{Act: timers.Start, Bath: "developer"}, in, 0)
	s = s.Advance(10*time.Second, func(string) chem.BathTemperature { return chem.Measured(18, 0.3) })
	fmt.Println(chem.MinutesSeconds(s.View(10 * time.Second).Timers[0].Left))
	// Output: 2:00
}

func TestATimerThatRanWhileTheComputerSleptIsDoubtedUntilItIsPutAway(t *testing.T) {
	b := newBench(t)
	require.NoError(t, b.press(timers.Press{Act: timers.Start, Bath: "developer"}))
	require.NoError(t, b.press(timers.Press{Act: timers.Pause, Number: 1}))
	require.NoError(t, b.press(timers.Press{Act: timers.Start, Bath: "second"}))
	before := b.set
	b.set = b.set.Doubt(time.Minute).Doubt(time.Second)
	b.pass(time.Second)
	require.Zero(t, b.view().Timers[0].Slept, "this sheet was not in")
	require.Equal(t, 61*time.Second, b.view().Timers[1].Slept)
	require.Zero(t, before.View(b.now).Timers[1].Slept, "a set is a value")
	require.NoError(t, b.press(timers.Press{Act: timers.Remove, Number: 2}))
	require.NoError(t, b.press(timers.Press{Act: timers.Start, Bath: "second"}))
	require.Zero(t, b.view().Timers[1].Slept, "the next sheet has nothing to do with it")
}
