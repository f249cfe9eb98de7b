package timers_test

import (
	"testing"
	"time"

	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"wetside/chem"
	"wetside/rules/timers"
)

// newLine is a bench with two fixing baths and a wash at 20 °C, where the published times hold:
// for resin-coated paper 0:10, twice 0:30 and 2:00 (sources: chem.PublishedTimes).
func newLine(t testing.TB, p chem.Paper) *bench {
	b := newBench(t)
	b.of = chem.Line{Way: chem.Way{TwoBaths: true}, Fixer: chem.Measured(20, 0.3), Wash: chem.Measured(20, 0.3)}
	require.NoError(t, b.press(timers.Press{Act: timers.Choose, Paper: p}))
	return b
}

func (b *bench) start() {
	b.Helper()
	require.NoError(b, b.press(timers.Press{Act: timers.Start, Bath: "developer"}))
}

func TestOnePressCallsASheetThroughTheWholeLine(t *testing.T) {
	b := newLine(t, chem.ResinCoated)
	b.start()
	for _, is := range []struct {
		after time.Duration
		stage chem.Stage
		left  time.Duration
	}{{119 * time.Second, chem.Developing, time.Second}, {4 * time.Second, chem.Stopping, 7 * time.Second},
		{8 * time.Second, chem.FirstFixing, 29 * time.Second}, {30 * time.Second, chem.SecondFixing, 29 * time.Second}} {
		b.pass(is.after)
		c := b.view().Timers[0]
		require.Equal(t, is.stage, c.Stage)
		require.InDelta(t, is.left.Seconds(), c.Left.Seconds(), 0.01, "%s", c.Stage.Said())
	}
	b.pass(30 * time.Second)
	v := b.view()
	require.Empty(t, v.Timers, "the number is free for the next sheet")
	require.Equal(t, 1, v.Wash[0].Sheets)
	require.InDelta(t, 119, v.Wash[0].Left.Seconds(), 0.01)
	b.pass(2 * time.Minute)
	require.Equal(t, chem.TimerDone, b.view().Wash[0].State)
	require.NoError(t, b.press(timers.Press{Act: timers.Washed, Paper: chem.ResinCoated}))
	require.Empty(t, b.view().Wash)
	require.NoError(t, b.press(timers.Press{Act: timers.Undo}))
	require.Len(t, b.view().Wash, 1)
}

// At 15 °C a fixing time of 3:00 is 3:00 times the root of 2, as it doubles for each 10 °C below
// 20 °C (US Army TM 11-2323, par. 33 c): 254.6 s, said as 255.
func TestTheTimeInABathIsThatOfTheMomentAtWhichTheSheetGoesIn(t *testing.T) {
	b := newLine(t, chem.FibreDoubleWeight)
	b.start()
	b.pass(2*time.Minute + 30*time.Second)
	b.of.Fixer = chem.Measured(15, 0.3)
	b.pass(31 * time.Second)
	c := b.view().Timers[0]
	require.Equal(t, chem.FirstFixing, c.Stage)
	require.InDelta(t, 255-1, c.Left.Seconds(), 0.05)
	b.of.Fixer = chem.Measured(20, 0.3)
	b.pass(time.Second)
	require.InDelta(t, 255-2, b.view().Timers[0].Left.Seconds(), 0.05, "a time that was called stays")
}

func TestAStageWithoutATimeSaysSoAndWaitsForAPress(t *testing.T) {
	b := newLine(t, chem.ResinCoated)
	b.of.Fixer = chem.BathTemperature{}
	b.start()
	b.pass(5 * time.Minute)
	c := b.view().Timers[0]
	require.Equal(t, chem.FirstFixing, c.Stage)
	require.Equal(t, chem.CountingUp, c.Following)
	require.Equal(t, "no time: the temperature is not known: measure it. 0:30 from 20 °C on, longer when colder", c.Notice.String())
	require.NoError(t, b.press(timers.Press{Act: timers.Next, Number: 1}))
	require.Equal(t, chem.SecondFixing, b.view().Timers[0].Stage)
	require.NoError(t, b.press(timers.Press{Act: timers.Undo}))
	require.Equal(t, chem.FirstFixing, b.view().Timers[0].Stage)
	require.NoError(t, b.press(timers.Press{Act: timers.Again, Number: 1}))
	require.Zero(t, b.view().Timers[0].Ran, "the sheet went in only now")
	require.Error(t, b.press(timers.Press{Act: timers.Choose, Paper: 17}))
}

// A clearing time of 15 s where the fresh bath took 10 s makes half as much again of 0:30; at twice
// the fixer is exhausted and gives no time (US Navy, NAVEDTRA 14209).
func TestTheFixingTimeGoesByTheClearingTest(t *testing.T) {
	b := newLine(t, chem.ResinCoated)
	b.of.ClearingFresh, b.of.ClearingNow = 10*time.Second, 15*time.Second
	b.start()
	b.pass(131 * time.Second)
	require.InDelta(t, 44, b.view().Timers[0].Left.Seconds(), 0.01)
	b.of.ClearingNow = 20 * time.Second
	b.pass(45 * time.Second)
	require.Contains(t, b.view().Timers[0].Notice.String(), "the bath is exhausted")
}

func TestWithoutAPaperTheDeveloperAloneIsTimedAndTheWashCountsFromTheLastPrint(t *testing.T) {
	b := newLine(t, 0)
	b.start()
	b.pass(3 * time.Minute)
	require.Equal(t, chem.Developing, b.view().Timers[0].Stage)
	require.Equal(t, time.Minute, b.view().Timers[0].Over)

	b = newLine(t, chem.ResinCoated)
	b.start()
	b.pass(time.Minute)
	b.start()
	b.pass(3*time.Minute + 10*time.Second)
	v := b.view()
	require.Equal(t, 2, v.Wash[0].Sheets)
	require.InDelta(t, 120, v.Wash[0].Left.Seconds(), 0.01, "the second soiled the water")
}

// However the sheets are started, none is lost and none counted twice.
func TestEverySheetIsInOneBath(t *testing.T) {
	rapid.Check(t, func(rt *rapid.T) {
		b := newLine(t, chem.ResinCoated)
		started := 0
		for range rapid.IntRange(1, 8).Draw(rt, "presses") {
			b.pass(time.Duration(rapid.IntRange(1, 40).Draw(rt, "wait")) * time.Second)
			b.start()
			started++
		}
		v := b.view()
		in := len(v.Timers)
		for _, w := range v.Wash {
			in += w.Sheets
		}
		require.Equal(t, started, in)
	})
}

func TestThePaperOfBookedWorkIsTakenOnceAndAnotherMayBeChosen(t *testing.T) {
	var s timers.Set
	s = s.Expect("", 0).Expect("film tonight", 0)
	require.Zero(t, s.View(0).Paper, "no work, or film, says nothing of paper")
	s = s.Expect("class", chem.FibreDoubleWeight)
	require.Equal(t, chem.FibreDoubleWeight, s.View(0).Paper)
	s, err := s.Press(timers.Press{Act: timers.Choose, Paper: chem.ResinCoated}, timers.Known{}, 0)
	require.NoError(t, err)
	require.Equal(t, chem.ResinCoated, s.Expect("class", chem.FibreDoubleWeight).View(0).Paper, "whoever chooses knows better")
	require.Equal(t, chem.FibreDoubleWeight, s.Expect("next class", chem.FibreDoubleWeight).View(0).Paper)
}
