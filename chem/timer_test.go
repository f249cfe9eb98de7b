package chem_test

import (
	"math"
	"testing"
	"time"

	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"wetside/chem"
	"wetside/sensors/quantity"
	"wetside/sensors/quantity/phrase"
)

const origin = 40 * time.Minute // timers need not start at zero

func readyTimer(t testing.TB, table chem.Table, at quantity.Celsius) chem.Timer {
	t.Helper()
	c, err := chem.NewTimer(chem.Inputs{Table: table, Temperature: chem.Measured(at, 0.2)}, origin)
	require.NoError(t, err)
	return c
}

func started(t testing.TB, table chem.Table, at quantity.Celsius) chem.Timer {
	t.Helper()
	c, err := readyTimer(t, table, at).Start(origin)
	require.NoError(t, err)
	return c
}

// drive advances second by second with a temperature that is a function of time.
func drive(c chem.Timer, until time.Duration, bath func(since time.Duration) chem.BathTemperature) chem.Timer {
	for s := c.View().Ran + time.Second; s <= until; s += time.Second {
		c = c.Advance(origin+s, bath(s))
	}
	return c
}

func steady(at quantity.Celsius) func(time.Duration) chem.BathTemperature {
	return func(time.Duration) chem.BathTemperature { return chem.Measured(at, 0.2) }
}

func silent(time.Duration) chem.BathTemperature { return chem.BathTemperature{} }

func TestASteadyBathKeepsThePromise(t *testing.T) {
	c := drive(started(t, rowR6(t), 20), 400*time.Second, steady(20))
	v := c.View()
	require.Equal(t, chem.TimerRunning, v.State)
	require.InDelta(t, 65, v.Left.Seconds(), 0.01)
	require.InDelta(t, 0, v.Moved.Seconds(), 0.01)
	require.Empty(t, v.Notice)
	require.Equal(t, chem.FollowingBath, v.Following)

	v = drive(c, 475*time.Second, steady(20)).View()
	require.Equal(t, chem.TimerDone, v.State)
	require.Zero(t, v.Left)
	require.InDelta(t, 10, v.Over.Seconds(), 0.01)
	require.InDelta(t, 0, v.Moved.Seconds(), 0.01)
}

func TestTheEndMovesWithTheBath(t *testing.T) {
	// Half of the development at 24 °C (5:30) and half at 20 °C (7:45): done after
	// 165 s + 232.5 s, by the integral of the rate (arithmetic on row R6).
	bath := func(since time.Duration) chem.BathTemperature {
		if since <= 165*time.Second {
			return chem.Measured(24, 0.2)
		}
		return chem.Measured(20, 0.2)
	}
	c := drive(started(t, rowR6(t), 24), 300*time.Second, bath)
	v := c.View()
	require.InDelta(t, 97.5, v.Left.Seconds(), 0.5)
	require.InDelta(t, 67.5, v.Moved.Seconds(), 0.5)
	require.Contains(t, v.Notice.String(), "the bath is at 20.0 °C: the end has moved by +67 s")
}

// From readings over half a minute on, a trend carries on while the probe is silent.
func TestATrendOfHalfAMinuteCarriesOn(t *testing.T) {
	falling := func(since time.Duration) chem.BathTemperature {
		return chem.Measured(quantity.Celsius(24-0.25*since.Minutes()), 0.2)
	}
	left := func(heard time.Duration) float64 {
		c := drive(drive(started(t, rowR6(t), 24), heard, falling), 90*time.Second, silent)
		return c.View().Left.Seconds()
	}
	carried := drive(started(t, rowR6(t), 24), 90*time.Second, falling).View().Left.Seconds()
	require.InDelta(t, carried, left(30*time.Second), 1)
	last, _ := falling(29 * time.Second).Value()
	stood := drive(drive(started(t, rowR6(t), 24), 29*time.Second, falling), 90*time.Second, steady(last)).View().Left.Seconds()
	require.InDelta(t, stood, left(29*time.Second), 0.1, "too short for a trend: the bath counts as steady")
	require.Greater(t, carried-stood, 3.0)
	seldom := func(since time.Duration) chem.BathTemperature {
		if since%(15*time.Second) > 0 || since > 30*time.Second {
			return silent(since)
		}
		return falling(since)
	}
	require.InDelta(t, carried, drive(started(t, rowR6(t), 24), 90*time.Second, seldom).View().Left.Seconds(), 1, "three readings are enough")
}

func TestASilentProbeDegradesOpenly(t *testing.T) {
	falling := func(since time.Duration) chem.BathTemperature {
		return chem.Measured(quantity.Celsius(24-0.2*since.Minutes()), 0.2)
	}
	c := drive(started(t, rowR6(t), 24), 120*time.Second, falling)
	c = drive(c, 130*time.Second, silent)
	require.Equal(t, chem.FollowingBath, c.View().Following, "between two readings")

	c = drive(c, 131*time.Second, silent)
	require.Equal(t, chem.FollowingTrend, c.View().Following)
	c = drive(c, 240*time.Second, silent)
	v := c.View()
	require.Equal(t, chem.FollowingTrend, v.Following)
	require.Contains(t, v.Notice.String(), "no reading for 2:00")
	withProbe := drive(started(t, rowR6(t), 24), 240*time.Second, falling).View()
	require.InDelta(t, withProbe.Left.Seconds(), v.Left.Seconds(), 1, "the trend carries on")

	c = drive(c, 300*time.Second, silent)
	require.Equal(t, chem.FollowingTrend, c.View().Following)
	c = drive(c, 301*time.Second, silent)
	require.Equal(t, chem.PlainTimer, c.View().Following)
	require.Contains(t, c.View().Notice.String(), "runs on its own")
	c = drive(c, 305*time.Second, silent)
	before := c.View().Left
	c = drive(c, 310*time.Second, silent)
	require.InDelta(t, 5, (before - c.View().Left).Seconds(), 1e-3, "a second is a second")
	c = drive(c, 311*time.Second, steady(23))
	require.Equal(t, chem.FollowingBath, c.View().Following)
}

func TestPauseStopsDevelopment(t *testing.T) {
	c := drive(started(t, rowR6(t), 20), 100*time.Second, steady(20))
	c, err := c.Pause(origin + 100*time.Second)
	require.NoError(t, err)
	c = c.Advance(origin+400*time.Second, chem.Measured(20, 0.2))
	require.InDelta(t, 365, c.View().Left.Seconds(), 0.01)
	c, err = c.Resume(origin + 400*time.Second)
	require.NoError(t, err)
	c = c.Advance(origin+500*time.Second, chem.Measured(20, 0.2))
	require.InDelta(t, 265, c.View().Left.Seconds(), 0.01)
	require.InDelta(t, 200, c.View().Ran.Seconds(), 0.01)
}

func TestAPressCanBeTakenBackWithinAMinute(t *testing.T) {
	c := drive(started(t, rowR6(t), 20), 100*time.Second, steady(20))
	c, err := c.Pause(origin + 100*time.Second)
	require.NoError(t, err)
	undone, err := c.Undo(origin + 130*time.Second)
	require.NoError(t, err)
	require.Equal(t, chem.TimerRunning, undone.View().State)
	require.InDelta(t, 335, undone.View().Left.Seconds(), 0.5, "the print was in the bath all the time")
	_, err = undone.Undo(origin + 131*time.Second)
	require.Error(t, err, "once")
	_, err = c.Undo(origin + 160*time.Second)
	require.NoError(t, err)
	_, err = c.Undo(origin + 161*time.Second)
	require.ErrorContains(t, err, "one minute")

	soon, err := started(t, rowR6(t), 20).Pause(origin + 10*time.Second)
	require.NoError(t, err)
	soon, err = soon.Undo(origin + 20*time.Second)
	require.NoError(t, err)
	require.Error(t, second(soon.Undo(origin+30*time.Second)), "the press before is settled")

	fresh, err := started(t, rowR6(t), 20).Undo(origin + 5*time.Second)
	require.NoError(t, err)
	require.Equal(t, chem.TimerReady, fresh.View().State)
	require.Zero(t, fresh.View().Ran)
}

func TestPressesOutOfTurn(t *testing.T) {
	ready := readyTimer(t, rowR6(t), 20)
	_, err := ready.Pause(origin)
	require.Error(t, err)
	_, err = ready.Resume(origin)
	require.Error(t, err)
	_, err = ready.Undo(origin)
	require.Error(t, err)
	_, err = started(t, rowR6(t), 20).Start(origin)
	require.Error(t, err)
	_, err = chem.Timer{}.Start(origin)
	require.Error(t, err)
	require.Zero(t, chem.Timer{}.View())
	_, err = chem.NewTimer(chem.Inputs{Table: rowR6(t)}, origin)
	require.True(t, chem.IsRefusal(err))
}

func TestWithoutATimeAPlainTimerCountsUpAndSaysWhy(t *testing.T) {
	_, err := chem.NewTimer(chem.Inputs{Refusal: phrase.Say("no batch is entered")}, origin)
	require.True(t, chem.IsRefusal(err))
	c, err := chem.NewPlainTimer(phrase.Say("%v", err), origin).Start(origin + time.Minute)
	require.NoError(t, err)
	c = drive(c, 5*time.Minute, steady(20))
	v := c.View()
	require.Equal(t, chem.CountingUp, v.Following)
	require.Equal(t, 4*time.Minute, v.Ran, "from the moment that the sheet went in")
	require.Zero(t, v.Left)
	require.Equal(t, "this timer only counts up, since there is no time: no batch is entered", v.Notice.String())
	c, err = c.Pause(origin + 5*time.Minute)
	require.NoError(t, err)
	require.Equal(t, 4*time.Minute, c.Advance(origin+time.Hour, chem.BathTemperature{}).View().Ran, "and not while it is out of the bath")
	c, err = c.Resume(origin + time.Hour)
	require.NoError(t, err)
	c, err = c.Advance(origin+time.Hour+30*time.Second, chem.BathTemperature{}).Undo(origin + time.Hour + 30*time.Second)
	require.NoError(t, err)
	require.Equal(t, chem.TimerPaused, c.View().State)
	require.Equal(t, 4*time.Minute, c.View().Ran)
}

func TestABathBeyondTheTableIsSaid(t *testing.T) {
	for at, words := range map[quantity.Celsius]string{26: "warmer than the table's last point", 18: "colder than the table's first point"} {
		c := drive(started(t, rowR6(t), 22), 60*time.Second, steady(at))
		require.Contains(t, c.View().Notice.String(), words)
		require.Positive(t, c.View().Left)
	}
	c, err := chem.NewTimer(chem.Inputs{Table: singlePoint(t, 20, 2*time.Minute), Temperature: chem.Measured(20, 0.2),
		HydroquinoneFloor: true}, origin)
	require.NoError(t, err)
	c, err = c.Start(origin)
	require.NoError(t, err)
	require.Contains(t, c.Advance(origin+time.Second, chem.Measured(15, 0.2)).View().Notice.String(), "hydroquinone")
}

// A table of one point goes as far as the general rule, 60 to 80 °F, and its rate stays there beyond.
func TestATimerByTheGeneralRuleKeepsTheRateOfItsEnds(t *testing.T) {
	left := func(at quantity.Celsius) (time.Duration, string) {
		c := drive(started(t, singlePoint(t, 20, 10*time.Minute), 20), time.Second, steady(at))
		return c.View().Left, c.View().Notice.String()
	}
	for _, c := range []struct {
		end, beyond quantity.Celsius
		says        string
	}{{quantity.FromFahrenheit(60), 15, "colder than the table's first point: the timer keeps the rate of 15.6 °C"},
		{quantity.FromFahrenheit(80), 27, "warmer than the table's last point: the timer keeps the rate of 26.7 °C"}} {
		atEnd, said := left(c.end)
		require.Contains(t, said, "the end has moved by")
		require.InEpsilon(t, 600*math.Exp(-0.081*float64(c.end-20)), atEnd.Seconds(), 0.01)
		beyond, said := left(c.beyond)
		require.Contains(t, said, c.says)
		require.InDelta(t, atEnd.Seconds(), beyond.Seconds(), 0.01)
	}
}

// A bath that is as slow as a printed time and half says so takes half as long again at every temperature.
func TestATimerKeepsWhatUseAddsAtEveryTemperature(t *testing.T) {
	for _, table := range []chem.Table{rowR6(t), singlePoint(t, 20, 465*time.Second)} {
		c, err := chem.NewTimer(chem.Inputs{Table: table, Temperature: chem.Measured(20, 0.2),
			Use: chem.BathUse{Used: 1, Capacity: 1, Slowing: 0.5}}, origin)
		require.NoError(t, err)
		require.InDelta(t, 465*1.5, c.View().Left.Seconds(), 0.01)
		want, ok := chem.Tonight(chem.Inputs{Table: table, Temperature: chem.Measured(22, 0.2)}).Time()
		require.True(t, ok)
		require.InDelta(t, want.Seconds()*1.5, c.Advance(origin+1, chem.Measured(22, 0.2)).View().Left.Seconds(), 0.01)
	}
}

func TestAnOldMomentChangesNothing(t *testing.T) {
	c := drive(started(t, rowR6(t), 20), 100*time.Second, steady(20))
	require.Equal(t, c.View(), c.Advance(origin+50*time.Second, chem.Measured(24, 0)).View())
}

// Several timers at once are several values: none moves another.
func TestTimersAreValues(t *testing.T) {
	first := drive(started(t, rowR6(t), 20), 100*time.Second, steady(20))
	seen := first.View()
	drive(first, 300*time.Second, steady(24))
	_, err := first.Pause(origin + 200*time.Second)
	require.NoError(t, err)
	require.Equal(t, seen, first.View())
}

func TestATimerNeverRunsBackwards(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		table, err := chem.NewTable("drawn", []chem.Point{{At: 18, Time: 571 * time.Second}, {At: 20, Time: 480 * time.Second},
			{At: 24, Time: 333 * time.Second}})
		require.NoError(t, err)
		c, err := chem.NewTimer(chem.Inputs{Table: table, Temperature: chem.Measured(20, 0.2)}, 0)
		require.NoError(t, err)
		c, err = c.Start(0)
		require.NoError(t, err)
		now := time.Duration(0)
		for range rapid.IntRange(1, 60).Draw(t, "steps") {
			before := c.View()
			now += time.Duration(rapid.IntRange(0, 60).Draw(t, "seconds")) * time.Second
			reading := chem.BathTemperature{}
			if rapid.Bool().Draw(t, "heard") {
				reading = chem.Measured(quantity.Celsius(rapid.Float64Range(15, 27).Draw(t, "temperature")), 0.2)
			}
			c = c.Advance(now, reading)
			v := c.View()
			require.Equal(t, now, v.Ran)
			require.GreaterOrEqual(t, v.State, before.State)
			require.GreaterOrEqual(t, v.Left, time.Duration(0))
			require.LessOrEqual(t, v.Left, 571*time.Second)
			require.GreaterOrEqual(t, v.Over, before.Over)
			require.Equal(t, v.State == chem.TimerDone, v.Left == 0)
		}
	})
}

func BenchmarkTimerAdvance(b *testing.B) {
	c := started(b, rowR6(b), 20)
	now := origin
	for b.Loop() {
		now += time.Second
		c = c.Advance(now, chem.Measured(20, 0.2))
	}
}
