package chem_test

import (
	"testing"
	"time"

	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"wetside/chem"
	"wetside/sensors/quantity"
)

func stage(t *testing.T, l chem.Line, s chem.Stage) chem.StageTime {
	t.Helper()
	for _, each := range l.Times() {
		if each.Stage == s {
			return each
		}
	}
	require.Fail(t, "no such stage", s.Said().String())
	return chem.StageTime{}
}

func lineAt(w chem.Way, c quantity.Celsius) chem.Line {
	return chem.Line{Way: w, Fixer: chem.Measured(c, 0), Wash: chem.Measured(c, 0)}
}

// analogue-photography.org, fixing prints (secondary): fibre 5 to 10 minutes in one bath, 3 to 5 in each of two;
// US Navy, NAVEDTRA 14209: equal time in each; US Army SS0509, p. 45: stop bath 1 minute.
func TestTheLineBehindTheDeveloperForEachPaper(t *testing.T) {
	one, two := lineAt(chem.Way{Paper: chem.FibreDoubleWeight}, 20), lineAt(chem.Way{Paper: chem.FibreDoubleWeight, TwoBaths: true,
		WashAid: true}, 20)
	require.Equal(t, 5*time.Minute, stage(t, one, chem.FirstFixing).Time)
	require.Equal(t, 3*time.Minute, stage(t, two, chem.FirstFixing).Time)
	require.Equal(t, stage(t, two, chem.FirstFixing).Time, stage(t, two, chem.SecondFixing).Time)
	require.Equal(t, time.Minute, stage(t, one, chem.Stopping).Time)
	require.Equal(t, 20*time.Minute, stage(t, two, chem.Washing).Time)
	single := two
	single.Way.Paper = chem.FibreSingleWeight
	require.Equal(t, 10*time.Minute, stage(t, single, chem.Washing).Time)
	var order []chem.Stage
	for _, s := range two.Times() {
		order = append(order, s.Stage)
	}
	require.Equal(t, []chem.Stage{chem.Stopping, chem.FirstFixing, chem.SecondFixing, chem.Rinsing, chem.WashAiding, chem.Washing}, order)
	for _, w := range []chem.Way{{Paper: chem.ResinCoated}, {Paper: chem.ResinCoated, TwoBaths: true}, one.Way, two.Way} {
		for _, s := range lineAt(w, 20).Times() {
			require.NotEmpty(t, s.Source.String())
			require.NotEmpty(t, s.Standing)
			require.Positive(t, s.Time)
		}
	}
}

// From memory, as makers' sheets have it: 30 s in rapid fixer 1+4, 60 s in 1+9. Stronger is not taken as shorter.
func TestResinCoatedPaperIsFixedTwiceAsLongInHalfTheFixer(t *testing.T) {
	for share, want := range map[chem.Strength]time.Duration{0: 30 * time.Second, 0.2: 30 * time.Second, 0.25: 30 * time.Second,
		0.1: time.Minute, 1.0 / 8: 50 * time.Second} {
		rc := lineAt(chem.Way{Paper: chem.ResinCoated, TwoBaths: true, FixerShare: share}, 20)
		require.Equal(t, want, stage(t, rc, chem.FirstFixing).Time, share)
		require.Equal(t, want, stage(t, rc, chem.SecondFixing).Time, share)
	}
	weak := lineAt(chem.Way{Paper: chem.ResinCoated, FixerShare: 1.0 / 21}, 20)
	require.Contains(t, stage(t, weak, chem.FirstFixing).Refusal.String(), "should not lie there for more than 2:00")
}

// US Army TM 11-2323, par. 33: fixing twice as long for each 18 °F below 68 °F; washing twice as long at 50 °F,
// four times at 35 °F. US Army MD0954, p. 69: above 75 °F gelatin softens.
func TestColdBathsTakeLongerAsTheArmyManualSays(t *testing.T) {
	w := chem.Way{Paper: chem.FibreDoubleWeight}
	require.Equal(t, 10*time.Minute, stage(t, lineAt(w, 10), chem.FirstFixing).Time)
	require.Equal(t, 2*time.Hour, stage(t, lineAt(w, 10), chem.Washing).Time)
	require.InDelta(t, 4*time.Hour.Seconds(), stage(t, lineAt(w, quantity.FromFahrenheit(35)), chem.Washing).Time.Seconds(), 0.001)
	require.Equal(t, time.Hour, stage(t, lineAt(w, 23), chem.Washing).Time, "no shorter when warmer")
	two := lineAt(chem.Way{Paper: chem.FibreDoubleWeight, TwoBaths: true}, 19.3)
	require.Equal(t, 3*time.Minute+10*time.Second, stage(t, two, chem.FirstFixing).Time, "180 s times 2^0.07 are 188.95 s: nobody counts 3:09")
	for _, c := range []quantity.Celsius{0, 26} {
		require.NotEmpty(t, stage(t, lineAt(w, c), chem.Washing).Refusal.String())
	}
	require.Contains(t, stage(t, lineAt(w, 5), chem.FirstFixing).Refusal.String(), "should not lie there for more than 10:00")
	unknown := chem.Line{Way: w}
	require.Contains(t, stage(t, unknown, chem.FirstFixing).Refusal.String(), "temperature is not known")
	require.Zero(t, stage(t, unknown, chem.FirstFixing).Time)
}

// US Navy, NAVEDTRA 14209: a fixer is exhausted when its clearing time has doubled.
func TestFixingFollowsTheClearingTestOfTheBathAsItIsNow(t *testing.T) {
	l := lineAt(chem.Way{Paper: chem.FibreDoubleWeight}, 20)
	l.ClearingFresh, l.ClearingNow = 30*time.Second, 45*time.Second
	now := stage(t, l, chem.FirstFixing)
	require.Equal(t, 450*time.Second, now.Time, "5 minutes times 45/30")
	require.Contains(t, now.Causes[0].String(), "wetside's own rule")
	l.ClearingNow = 20 * time.Second
	require.Equal(t, 5*time.Minute, stage(t, l, chem.FirstFixing).Time, "a faster bath makes no time shorter")
	l.ClearingNow = 60 * time.Second
	require.Contains(t, stage(t, l, chem.FirstFixing).Refusal.String(), "exhausted")
	l.ClearingNow, l.PaperClears = 0, 20*time.Second
	require.Equal(t, time.Minute, stage(t, l, chem.FirstFixing).Time, "twice 20 s, and at least a minute")
	l.PaperClears = 45 * time.Second
	require.Equal(t, 90*time.Second, stage(t, l, chem.FirstFixing).Time)
	require.Contains(t, stage(t, l, chem.FirstFixing).Source.String(), "twice the clearing time of this paper")
}

func TestAPlacePutsItsOwnTimesInTheSteadOfThePublishedOnes(t *testing.T) {
	l := lineAt(chem.Way{Paper: chem.ResinCoated}, 20)
	l.Own = []chem.StageTime{{Stage: chem.Washing, Time: 4 * time.Minute, Standing: chem.CommonPractice}}
	require.Equal(t, 4*time.Minute, stage(t, l, chem.Washing).Time)
	require.Equal(t, chem.CommonPractice, stage(t, l, chem.Washing).Standing)
	l.Wash = chem.Measured(10, 0)
	require.Equal(t, 8*time.Minute, stage(t, l, chem.Washing).Time)
}

func TestWhiteLightWaitsForTheLastSheetToBeFixed(t *testing.T) {
	times := lineAt(chem.Way{Paper: chem.FibreDoubleWeight, TwoBaths: true}, 20).Times()
	for _, c := range []struct {
		sheets []chem.SheetAt
		may    bool
		says   string
	}{
		{nil, true, "put away"},
		{[]chem.SheetAt{{Stage: chem.Developing, Since: time.Hour}}, false, "developer"},
		{[]chem.SheetAt{{Stage: chem.Stopping}}, false, "stop bath"},
		{[]chem.SheetAt{{Stage: chem.Washing}, {Stage: chem.FirstFixing, Since: time.Minute}}, false, "another 2:00"},
		{[]chem.SheetAt{{Stage: chem.FirstFixing, Since: 3 * time.Minute}, {Stage: chem.SecondFixing}}, true, "put away"},
	} {
		may, why := chem.WhiteLight(times, c.sheets)
		require.Equal(t, c.may, may)
		require.Contains(t, why.String(), c.says)
	}
	may, _ := chem.WhiteLight([]chem.StageTime{{Stage: chem.FirstFixing, Time: time.Minute}},
		[]chem.SheetAt{{Stage: chem.FirstFixing, Since: time.Minute}})
	require.True(t, may, "no other time is asked for")
	may, _ = chem.WhiteLight(chem.Line{Way: chem.Way{Paper: chem.ResinCoated}}.Times(),
		[]chem.SheetAt{{Stage: chem.FirstFixing, Since: time.Hour}})
	require.False(t, may, "no time is known, so none has passed")
}

// A colder bath never takes less time, and no stage gives both a time and a reason for having none.
func TestColderIsNeverShorter(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		w := chem.Way{Paper: rapid.SampledFrom([]chem.Paper{chem.ResinCoated, chem.FibreSingleWeight, chem.FibreDoubleWeight}).Draw(t, "paper"),
			TwoBaths: rapid.Bool().Draw(t, "two"), WashAid: rapid.Bool().Draw(t, "aid")}
		warm := rapid.Float64Range(2, 23).Draw(t, "warm")
		cold := rapid.Float64Range(2, warm).Draw(t, "cold")
		a, b := lineAt(w, quantity.Celsius(warm)).Times(), lineAt(w, quantity.Celsius(cold)).Times()
		for i := range a {
			require.NotEqual(t, a[i].Refusal.IsZero(), a[i].Time == 0)
			if a[i].Refusal.IsZero() && b[i].Refusal.IsZero() {
				require.GreaterOrEqual(t, b[i].Time, a[i].Time)
			}
		}
	})
}
