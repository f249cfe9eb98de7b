package breathing_test

import (
	"testing"
	"time"

	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"wetside/rules/breathing"
	"wetside/sensors/quantity"
)

func probe(s breathing.Sensor) breathing.Probe {
	return breathing.Probe{Sensor: s, Silence: 30 * time.Second, Keep: 720}
}

// A ceiling is never to be exceeded, not for a moment: a minute counts with its highest value, elsewhere with its mean.
func TestAMinuteCountsForACeilingWithItsHighestValue(t *testing.T) {
	minutes := []breathing.Minute{{Known: time.Minute, High: 12, Sum: 5.0 / 60}}
	for kind, want := range map[breathing.LimitKind]float64{breathing.Ceiling: 12, breathing.LongTerm: 5} {
		tape, err := breathing.Sensor{FullScale: 25}.Lay(minutes, time.Minute, kind)
		require.NoError(t, err)
		a, err := tape.Last(time.Minute, breathing.WorstObserved())
		require.NoError(t, err)
		require.InDelta(t, want, a.High, 1e-9, kind)
	}
}

// The few spans on which a limit is judged average the same as the minutes in their order.
func TestTheSumOfMinutesAveragesLikeTheMinutes(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		p := probe(breathing.Sensor{Detection: 0.1, FullScale: 25})
		var c breathing.Course
		now := time.Duration(rapid.IntRange(0, 100).Draw(t, "began")) * time.Second
		for range rapid.IntRange(5, 200).Draw(t, "readings") {
			c = c.Read(p, now, rapid.Float64Range(-1, 30).Draw(t, "ppm"), rapid.IntRange(0, 9).Draw(t, "good") > 0)
			now += time.Duration(rapid.IntRange(1, 40).Draw(t, "seconds")) * time.Second
		}
		for _, window := range []time.Duration{15 * time.Minute, 8 * time.Hour} {
			minutes := c.Last(window)
			require.LessOrEqual(t, len(minutes), int(window/time.Minute))
			quick, err := p.Sum(minutes)
			require.NoError(t, err)
			slow, err := p.Lay(minutes, time.Duration(len(minutes))*time.Minute, breathing.LongTerm)
			require.NoError(t, err)
			require.Equal(t, slow.Length(), quick.Length())
			if slow.Length() == 0 {
				continue
			}
			a, err := quick.Last(window, breathing.WorstObserved())
			require.NoError(t, err)
			b, err := slow.Last(window, breathing.WorstObserved())
			require.NoError(t, err)
			require.InDelta(t, b.Low, a.Low, 1e-9)
			require.InDelta(t, b.High, a.High, 1e-9)
			require.InDelta(t, b.Coverage, a.Coverage, 1e-9)
			require.Equal(t, []bool{b.Below, b.Open}, []bool{a.Below, a.Open})
		}
	})
}

func TestTheMinuteUnderWaySaysSomethingWhileTheLastReadingDoes(t *testing.T) {
	p := probe(breathing.Sensor{})
	says := func(c breathing.Course) bool {
		_, yes := c.UnderWay()
		return yes
	}
	require.False(t, says(breathing.Begin(0)), "nothing was read")
	c := breathing.Begin(0).Read(p, 10*time.Second, 12, true)
	require.True(t, says(c))
	now, _ := c.UnderWay()
	require.Equal(t, breathing.Measured(12), breathing.Sensor{}.Peak(now), "also before it has lasted")
	require.True(t, says(c.Wait(p, 40*time.Second)), "the next reading may still come in time")
	require.False(t, says(c.Wait(p, 41*time.Second)), "silent for too long")
	require.False(t, says(c.Read(p, 20*time.Second, 12, false)), "no measurement")
	require.False(t, says(c.Read(p, 20*time.Second, -1, true)), "no concentration")
}

// A time counts as read when the next reading comes within the longest silence; a longer
// silence is missing as a whole, from the last reading on, and never counts as zero.
func TestASilenceIsUnknownFromTheLastReadingOn(t *testing.T) {
	p := probe(breathing.Sensor{})
	var c breathing.Course
	for at := time.Duration(0); at <= 5*time.Minute; at += 20 * time.Second {
		c = c.Read(p, at, 12, true)
	}
	require.Len(t, c.Minutes(), 5)
	require.Len(t, c.Wait(p, 5*time.Minute+29*time.Second).Minutes(), 5, "the next reading may still come in time")
	c = c.Wait(p, 15*time.Minute)
	tape, err := p.Sum(c.Last(15 * time.Minute))
	require.NoError(t, err)
	a, err := tape.Last(15*time.Minute, breathing.WorstObserved())
	require.NoError(t, err)
	require.InDelta(t, 4, a.Low, 1e-9, "five minutes of 12 ppm in fifteen")
	require.InDelta(t, 12, a.High, 1e-9)
	require.InDelta(t, 1.0/3, a.Coverage, 1e-9)
}

// A working day and no more is kept, however long the daemon runs and however long nobody looked.
func TestTheDayOfAGasIsBounded(t *testing.T) {
	p, c := probe(breathing.Sensor{}), breathing.Course{}
	for at := time.Duration(0); at < 30*time.Hour; at += 20 * time.Minute {
		c = c.Wait(p, at)
		require.LessOrEqual(t, len(c.Minutes()), p.Keep)
	}
	require.Len(t, c.Wait(p, 300*time.Hour).Minutes(), p.Keep)
}

// TestASensorAtTheEndOfItsRangeSaysAtLeast is 8 min of 20 ppm at the end of the range and 7 of
// 1 ppm: an average of at least 11.1 ppm, against a limit of 15 ppm over 15 min.
func TestASensorAtTheEndOfItsRangeSaysAtLeast(t *testing.T) {
	p := probe(breathing.Sensor{FullScale: 20})
	c := breathing.Begin(0)
	for at := time.Duration(0); at <= 15*time.Minute; at += 10 * time.Second {
		value := 1.0
		if at < 8*time.Minute {
			value = 20
		}
		c = c.Read(p, at, value, true)
	}
	ppm, err := quantity.ParseUnit("ppm")
	require.NoError(t, err)
	limit := breathing.Limit{Agent: "acetic acid", Jurisdiction: "invented place", Edition: "invented", Kind: breathing.ShortTerm,
		Window: 15 * time.Minute, Value: 15, Unit: ppm, Standing: breathing.Unverified, Source: "invented for tests"}
	ordered, err := p.Lay(c.Minutes(), 15*time.Minute, limit.Kind)
	require.NoError(t, err)
	summed, err := p.Sum(c.Minutes())
	require.NoError(t, err)
	for name, tape := range map[string]breathing.Tape{"in their order": ordered, "summed": summed} {
		found, err := breathing.Gas{Tape: tape, Unit: ppm, Sensor: p.Sensor}.Judge(limit)
		require.NoError(t, err)
		require.Equal(t, breathing.CantTell, found.Verdict, name)
		require.True(t, found.Average.Open, name)
		require.InDelta(t, (8*20+7*1)/15.0, found.Average.Low, 1e-9, name)
	}
	peak, err := p.Highest(c.Minutes())
	require.NoError(t, err)
	highest, err := peak.Peak(breathing.WorstObserved())
	require.NoError(t, err)
	require.True(t, highest.Open)
}

func TestAValueBelowZeroIsNoConcentration(t *testing.T) {
	plain, fine := breathing.Sensor{}, breathing.Sensor{Detection: 0.5}
	_, says := plain.Level(-0.1)
	require.False(t, says)
	level, says := fine.Level(-0.4)
	require.True(t, says)
	require.Equal(t, breathing.BelowDetection(0.5), level)
	level, says = fine.Level(-0.5)
	require.True(t, says)
	require.Equal(t, breathing.BelowDetection(0.5), level)
	level, says = fine.Level(0.5)
	require.True(t, says)
	require.Equal(t, breathing.Measured(0.5), level, "the least that the sensor detects is measured")
	_, says = fine.Level(-0.6)
	require.False(t, says, "the zero of the sensor is off by more than it can tell")
}
