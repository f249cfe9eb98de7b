package breathing_test

import (
	"slices"
	"testing"
	"time"

	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"wetside/rules/breathing"
	"wetside/sensors/quantity/phrase"
)

func lay(t require.TestingT, samples []breathing.Sample, after time.Duration) breathing.Tape {
	until := start()
	if len(samples) > 0 {
		until = samples[len(samples)-1].At.Add(after)
	}
	tape, err := breathing.Record(samples, until, 2*time.Minute)
	require.NoError(t, err)
	return tape
}

func TestRecordOfSteadyReadings(t *testing.T) {
	tape := lay(t, minutely(4, 4, 4, 4), time.Minute)
	require.Equal(t, 4*time.Minute, tape.Length())
	a, err := tape.Last(4*time.Minute, breathing.WorstObserved())
	require.NoError(t, err)
	require.Equal(t, 4.0, a.Low)
	require.Equal(t, 4.0, a.High)
	require.Equal(t, 1.0, a.Coverage)
	require.Empty(t, tape.Notes())
}

func TestRecordLeavesAGapWhereTheProbeWasSilent(t *testing.T) {
	samples := minutely(4, 4, 4, 4, 4, 4, 4, 4)
	samples = slices.Delete(samples, 2, 6) // five minutes without a reading
	a, err := lay(t, samples, 0).Last(7*time.Minute, breathing.FullScale(20))
	require.NoError(t, err)
	require.InDelta(t, 8.0/7, a.Low, 1e-9)
	require.InDelta(t, (8+5*20.0)/7, a.High, 1e-9)
	require.InDelta(t, 2.0/7, a.Coverage, 1e-9)
	require.Equal(t, []phrase.Sentence{phrase.Say("no reading")}, a.Reasons)

	// The same at the end: the last value is not carried on for an hour.
	a, err = lay(t, minutely(4, 4), time.Hour).Last(time.Hour, breathing.FullScale(20))
	require.NoError(t, err)
	require.Zero(t, a.Coverage)
}

func TestRecordOfAClockSetBack(t *testing.T) {
	// 20 min at 10 ppm, then the clock goes back by ten minutes and 10 min at 2 ppm follow.
	var samples []breathing.Sample
	for i := range 20 {
		samples = append(samples, breathing.Sample{At: start().Add(time.Duration(i) * time.Minute), Level: breathing.Measured(10)})
	}
	for i := range 11 {
		samples = append(samples, breathing.Sample{At: start().Add(time.Duration(9+i) * time.Minute), Level: breathing.Measured(2)})
	}
	tape := lay(t, samples, 0)
	require.Len(t, tape.Notes(), 1)
	a, err := tape.Last(15*time.Minute, breathing.FullScale(20))
	require.NoError(t, err)
	require.Contains(t, a.Reasons, phrase.Say("the clock was set back or readings came out of order"))
	require.Less(t, a.Coverage, 1.0)
	truth := (10*2.0 + 5*10) / 15 // the last ten minutes at 2, five before at 10
	require.LessOrEqual(t, a.Low, truth)
	require.GreaterOrEqual(t, a.High, truth)
	require.Less(t, a.Low, a.High)
}

func TestRecordOfAClockSetForward(t *testing.T) {
	samples := minutely(10, 10, 10, 10, 10, 2, 2, 2, 2, 2, 2)
	for i := 5; i < len(samples); i++ {
		samples[i].At = samples[i].At.Add(time.Hour)
	}
	a, err := lay(t, samples, 0).Last(10*time.Minute, breathing.FullScale(20))
	require.NoError(t, err)
	truth := (5*2.0 + 5*10) / 10
	require.LessOrEqual(t, a.Low, truth)
	require.GreaterOrEqual(t, a.High, truth)
	require.Contains(t, a.Reasons, phrase.Say("no reading"))
}

func TestRecordOfReadingsTwice(t *testing.T) {
	once := minutely(4, 8, 6)
	twice := slices.Insert(slices.Clone(once), 1, once[0])
	require.Equal(t, lay(t, once, 0), lay(t, twice, 0))

	other := breathing.Sample{At: once[1].At, Level: breathing.Measured(12)}
	tape := lay(t, slices.Insert(slices.Clone(once), 2, other), 0)
	require.Len(t, tape.Notes(), 1)
	require.Contains(t, tape.Notes()[0].String(), "two different readings")
	a, err := tape.Last(time.Minute, breathing.WorstObserved())
	require.NoError(t, err)
	require.InDelta(t, 7, a.Low, 1e-9)  // between 8 and 6
	require.InDelta(t, 9, a.High, 1e-9) // between 12 and 6
}

func TestRecordRefuses(t *testing.T) {
	_, err := breathing.Record(minutely(1, 2), start(), 0)
	require.ErrorContains(t, err, "holds for")
	_, err = breathing.Record(minutely(1, -2), start().Add(time.Hour), time.Minute)
	require.ErrorContains(t, err, "2026-03-05")
	tape, err := breathing.Record(nil, start(), time.Minute)
	require.NoError(t, err)
	require.Zero(t, tape.Length())
}

func TestRecordNeverClaimsMoreThanWasRead(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		var samples []breathing.Sample
		for range rapid.IntRange(0, 40).Draw(t, "n") {
			at := start().Add(time.Duration(rapid.IntRange(-3600, 3600).Draw(t, "at")) * time.Second)
			level := breathing.Measured(rapid.Float64Range(0, 20).Draw(t, "v"))
			if rapid.IntRange(0, 5).Draw(t, "below") == 0 {
				level = breathing.BelowDetection(0.1)
			}
			samples = append(samples, breathing.Sample{At: at, Level: level})
		}
		tape := lay(t, samples, 0)
		for _, average := range []func(time.Duration, breathing.Bound) (breathing.Average, error){tape.Last, tape.Worst, func(_ time.Duration, b breathing.Bound) (breathing.Average, error) { return tape.Peak(b) }} {
			a, err := average(15*time.Minute, breathing.FullScale(20))
			require.NoError(t, err)
			require.LessOrEqual(t, a.Low, a.High)
			require.GreaterOrEqual(t, a.Low, 0.0)
			require.LessOrEqual(t, a.High, 20+1e-9)
			require.True(t, a.Coverage >= 0 && a.Coverage <= 1)
		}
	})
}
