package breathing_test

import (
	"fmt"
	"math"
	"testing"
	"time"

	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"wetside/rules/breathing"
	"wetside/sensors/quantity/phrase"
)

func start() time.Time { return time.Date(2026, 3, 5, 18, 0, 0, 0, time.UTC) }

// lay is a tape of readings a minute apart, with a silence after them.
func lay(t require.TestingT, silent time.Duration, readings ...float64) breathing.Tape {
	var tape breathing.Tape
	for i, v := range readings[1:] {
		require.NoError(t, tape.Sampled(time.Minute, breathing.Measured((readings[i]+v)/2)))
	}
	if silent > 0 {
		require.NoError(t, tape.Unsampled(silent, phrase.Say("no reading")))
	}
	return tape
}

type block struct {
	length time.Duration
	value  float64
}

func tapeOf(t testing.TB, blocks ...block) breathing.Tape {
	t.Helper()
	var tape breathing.Tape
	for _, b := range blocks {
		require.NoError(t, tape.Sampled(b.length, breathing.Measured(b.value)))
	}
	return tape
}

func TestRegulationsAverage(t *testing.T) {
	// 29 CFR 1910.1000(d)(1)(i), worked example, limit 100 ppm: 81.25 ppm, acceptable.
	tape := tapeOf(t, block{2 * time.Hour, 150}, block{2 * time.Hour, 75}, block{4 * time.Hour, 50})
	a, err := tape.Last(8*time.Hour, breathing.WorstObserved())
	require.NoError(t, err)
	require.Equal(t, 81.25, a.Low)
	require.Equal(t, 81.25, a.High)
	require.Equal(t, 1.0, a.Coverage)
	require.Empty(t, a.Reasons)
	require.Equal(t, breathing.Within, a.Against(100))
	require.Equal(t, breathing.Over, a.Against(81))
}

func TestShortTermBlocksAreAveraged(t *testing.T) {
	// Textbook formula: 5 min each at 10, 20 and 12 ppm are 14 ppm, within 15
	// although one block lies above it.
	tape := tapeOf(t, block{5 * time.Minute, 10}, block{5 * time.Minute, 20}, block{5 * time.Minute, 12})
	a, err := tape.Worst(15*time.Minute, breathing.WorstObserved())
	require.NoError(t, err)
	require.InDelta(t, 14, a.High, 1e-9)
	require.InDelta(t, 14, a.Low, 1e-9)
	require.Equal(t, breathing.Within, a.Against(15))
}

func TestAGapIsNeverZero(t *testing.T) {
	// Design rule: 8 h with a gap of one hour give an interval and 87.5 % coverage.
	tape := tapeOf(t, block{4 * time.Hour, 8})
	require.NoError(t, tape.Unsampled(time.Hour, phrase.Say("port lost")))
	require.NoError(t, tape.Sampled(3*time.Hour, breathing.Measured(12)))
	for _, c := range []struct {
		bound breathing.Bound
		high  float64
	}{{breathing.WorstObserved(), 80.0 / 8}, {breathing.FullScale(20), 88.0 / 8}} {
		a, err := tape.Last(8*time.Hour, c.bound)
		require.NoError(t, err)
		require.InDelta(t, 68.0/8, a.Low, 1e-9)
		require.InDelta(t, c.high, a.High, 1e-9)
		require.InDelta(t, 0.875, a.Coverage, 1e-12)
		require.Equal(t, []phrase.Sentence{phrase.Say("port lost")}, a.Reasons)
		require.Equal(t, breathing.CantTell, a.Against(9))
		require.Equal(t, breathing.Over, a.Against(8))
		require.Equal(t, breathing.Within, a.Against(c.high))
		require.NotEmpty(t, a.Bound.Said().String())
	}
	a, err := tape.Last(8*time.Hour, breathing.Unbounded())
	require.NoError(t, err)
	require.True(t, a.Open, "nothing bounds the hour that was not read")
	a, err = tape.Last(3*time.Hour, breathing.Unbounded())
	require.NoError(t, err)
	require.False(t, a.Open, "all of these three hours was read")
	for _, unchosen := range []breathing.Bound{{}, breathing.FullScale(0), breathing.FullScale(math.NaN())} {
		_, err := tape.Last(8*time.Hour, unchosen)
		require.ErrorIs(t, err, breathing.ErrNoBound)
	}
}

func TestWindowLongerThanTheData(t *testing.T) {
	tape := tapeOf(t, block{2 * time.Hour, 10})
	for _, average := range []func(time.Duration, breathing.Bound) (breathing.Average, error){tape.Last, tape.Worst} {
		a, err := average(8*time.Hour, breathing.FullScale(20))
		require.NoError(t, err)
		require.InDelta(t, 2.5, a.Low, 1e-9)
		require.InDelta(t, 17.5, a.High, 1e-9)
		require.InDelta(t, 0.25, a.Coverage, 1e-12)
		require.Equal(t, []phrase.Sentence{phrase.Say("before the first reading")}, a.Reasons)
	}
}

func TestTimeVouchedForCountsAsZero(t *testing.T) {
	tape := tapeOf(t, block{2 * time.Hour, 10})
	require.Error(t, tape.Unexposed(6*time.Hour, ""))
	require.NoError(t, tape.Unexposed(6*time.Hour, "A. Example"))
	a, err := tape.Last(8*time.Hour, breathing.WorstObserved())
	require.NoError(t, err)
	require.InDelta(t, 2.5, a.High, 1e-9)
	require.Equal(t, a.Low, a.High)
	require.Equal(t, 6*time.Hour, a.Unexposed)
}

func TestAnAverageNeverClaimsMoreThanWasRead(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		var tape breathing.Tape
		for range rapid.IntRange(0, 40).Draw(t, "n") {
			length := time.Duration(rapid.IntRange(1, 600).Draw(t, "seconds")) * time.Second
			switch rapid.IntRange(0, 5).Draw(t, "what") {
			case 0:
				require.NoError(t, tape.Unsampled(length, phrase.Say("no reading")))
			case 1:
				require.NoError(t, tape.Sampled(length, breathing.BelowDetection(0.1)))
			default:
				require.NoError(t, tape.Sampled(length, breathing.Measured(rapid.Float64Range(0, 20).Draw(t, "v"))))
			}
		}
		peak := func(_ time.Duration, b breathing.Bound) (breathing.Average, error) { return tape.Peak(b) }
		for _, average := range []func(time.Duration, breathing.Bound) (breathing.Average, error){tape.Last, tape.Worst, peak} {
			a, err := average(15*time.Minute, breathing.FullScale(20))
			require.NoError(t, err)
			require.LessOrEqual(t, a.Low, a.High)
			require.GreaterOrEqual(t, a.Low, 0.0)
			require.LessOrEqual(t, a.High, 20+1e-9)
			require.True(t, a.Coverage >= 0 && a.Coverage <= 1)
		}
	})
}

func TestNothingReadIsNoData(t *testing.T) {
	var empty breathing.Tape
	for _, average := range []func(time.Duration, breathing.Bound) (breathing.Average, error){empty.Last, empty.Worst} {
		a, err := average(time.Hour, breathing.WorstObserved())
		require.NoError(t, err)
		require.Zero(t, a.Coverage)
		require.Equal(t, "no data", a.Text("ppm").String())
		require.Equal(t, breathing.CantTell, a.Against(10))
	}
	_, err := empty.Last(0, breathing.WorstObserved())
	require.ErrorContains(t, err, "window")

	var unread breathing.Tape
	require.NoError(t, unread.Unsampled(time.Hour, phrase.Say("port lost")))
	for bound, open := range map[breathing.Bound]bool{breathing.WorstObserved(): true, breathing.FullScale(20): false} {
		a, err := unread.Last(time.Hour, bound)
		require.NoError(t, err)
		require.Equal(t, open, a.Open, "only the end of the sensor's range bounds an hour in which nothing was read")
	}
}

func TestBelowDetectionStaysBelow(t *testing.T) {
	var tape breathing.Tape
	require.NoError(t, tape.Sampled(time.Hour, breathing.BelowDetection(0.1)))
	a, err := tape.Last(time.Hour, breathing.WorstObserved())
	require.NoError(t, err)
	require.Equal(t, "below 0.1 ppm", a.Text("ppm").String())
	require.Equal(t, breathing.Within, a.Against(0.1))
	require.Equal(t, breathing.CantTell, a.Against(0.05))

	require.NoError(t, tape.Sampled(time.Hour, breathing.Measured(0.3)))
	a, err = tape.Last(2*time.Hour, breathing.WorstObserved())
	require.NoError(t, err)
	require.Equal(t, "between 0.15 and 0.2 ppm", a.Text("ppm").String())

	require.Equal(t, "below 0.1 ppm", breathing.BelowDetection(0.1).Text("ppm").String())
	require.Equal(t, "0.3 ppm", breathing.Measured(0.3).Text("ppm").String())
	require.Equal(t, "no data", breathing.Level{}.Text("ppm").String())
}

func TestOverRangeHasNoUpperEnd(t *testing.T) {
	tape := tapeOf(t, block{time.Hour, 1})
	require.NoError(t, tape.Sampled(time.Hour, breathing.OverRange(20)))
	a, err := tape.Last(2*time.Hour, breathing.WorstObserved())
	require.NoError(t, err)
	require.Equal(t, "at least 10.5 ppm", a.Text("ppm").String())
	require.Equal(t, breathing.CantTell, a.Against(1000))
	require.Equal(t, breathing.Over, a.Against(10))
	require.Equal(t, "at least 20 ppm", breathing.OverRange(20).Text("ppm").String())
}

func TestTapeRefuses(t *testing.T) {
	var tape breathing.Tape
	for _, l := range []breathing.Level{{}, breathing.Measured(-1), breathing.Measured(math.NaN()), breathing.Measured(math.Inf(1)),
		breathing.BelowDetection(math.NaN())} {
		require.Error(t, tape.Sampled(time.Hour, l))
	}
	for _, d := range []time.Duration{0, -time.Hour, math.MaxInt64} {
		require.Error(t, tape.Sampled(d, breathing.Measured(1)))
		require.Error(t, tape.Unsampled(d, phrase.Say("gap")))
	}
	require.Zero(t, tape.Length())
	const year = 365 * 24 * time.Hour
	require.Error(t, tape.Sampled(year+1, breathing.Measured(1)))
	require.NoError(t, tape.Sampled(year, breathing.Measured(1)))
	require.NoError(t, tape.Sampled(1, breathing.Measured(1)))
	require.Error(t, tape.Sampled(1, breathing.Measured(1)), "it is longer than a year already")
}

func TestMovingAverageOverAConstantIsTheConstant(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		c := rapid.Float64Range(0, 1000).Draw(t, "constant")
		window := time.Duration(rapid.IntRange(1, 600).Draw(t, "window")) * time.Minute
		var tape breathing.Tape
		for range rapid.IntRange(1, 40).Draw(t, "spans") {
			length := time.Duration(rapid.IntRange(1, 3600).Draw(t, "seconds")) * time.Second
			if rapid.IntRange(0, 3).Draw(t, "gap") == 0 {
				require.NoError(t, tape.Unsampled(length, phrase.Say("gap")))
			} else {
				require.NoError(t, tape.Sampled(length, breathing.Measured(c)))
			}
		}
		for _, average := range []func(time.Duration, breathing.Bound) (breathing.Average, error){tape.Last, tape.Worst} {
			a, err := average(window, breathing.WorstObserved())
			require.NoError(t, err)
			if a.Coverage == 0 {
				continue
			}
			// Whatever the gaps, the constant is the upper end and the sampled share of it the lower.
			require.InDelta(t, c, a.High, 1e-6)
			require.GreaterOrEqual(t, a.Low, c*a.Coverage-1e-6)
			require.InDelta(t, c, a.Low/max(a.Coverage, 1e-9), c*(1-a.Coverage)/max(a.Coverage, 1e-9)+1e-6)
			if a.Coverage == 1 {
				require.InDelta(t, c, a.Low, 1e-6)
			}
		}
	})
}

func TestIntervalHoldsTheTruth(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		truth := rapid.SliceOfN(rapid.Float64Range(0, 20), 30, 120).Draw(t, "truth")
		window := time.Duration(rapid.IntRange(1, len(truth)).Draw(t, "window")) * time.Minute
		var whole, seen breathing.Tape
		for _, v := range truth {
			require.NoError(t, whole.Sampled(time.Minute, breathing.Measured(v)))
			if rapid.IntRange(0, 4).Draw(t, "lost") == 0 {
				require.NoError(t, seen.Unsampled(time.Minute, phrase.Say("lost")))
			} else {
				require.NoError(t, seen.Sampled(time.Minute, breathing.Measured(v)))
			}
		}
		for _, c := range []struct {
			truth, got func(time.Duration, breathing.Bound) (breathing.Average, error)
		}{{whole.Last, seen.Last}, {whole.Worst, seen.Worst}} {
			exact, err := c.truth(window, breathing.FullScale(20))
			require.NoError(t, err)
			got, err := c.got(window, breathing.FullScale(20))
			require.NoError(t, err)
			require.LessOrEqual(t, got.Low, exact.Low+1e-9)
			require.GreaterOrEqual(t, got.High, exact.High-1e-9)
		}
	})
}

func TestWorstFindsTheWindowWhereverItBegins(t *testing.T) {
	const detection, end = 1.0, 20.0
	rapid.Check(t, func(t *rapid.T) {
		n := rapid.IntRange(1, 15).Draw(t, "window")
		window, minutes := time.Duration(n)*time.Minute, rapid.IntRange(20, 60).Draw(t, "minutes")
		bound := rapid.SampledFrom([]breathing.Bound{breathing.FullScale(end), breathing.Unbounded()}).Draw(t, "bound")
		of := rapid.SampledFrom([][]breathing.Level{{breathing.BelowDetection(detection)},
			{breathing.BelowDetection(detection), breathing.Measured(3), breathing.OverRange(end), {}},
			{breathing.Measured(3)}, {breathing.Measured(3), {}}}).Draw(t, "levels")
		var tape breathing.Tape
		want := breathing.Average{Below: true}
		for i := range minutes {
			l := rapid.SampledFrom(of).Draw(t, "level")
			if _, is := l.Value(); is {
				l = breathing.Measured(rapid.Float64Range(detection, end).Draw(t, "value"))
			}
			if l == (breathing.Level{}) {
				require.NoError(t, tape.Unsampled(time.Minute, phrase.Say("lost")))
			} else {
				require.NoError(t, tape.Sampled(time.Minute, l))
			}
			if i+1 < n {
				continue
			}
			here, err := tape.Last(window, breathing.FullScale(end))
			require.NoError(t, err)
			want.Low, want.High, want.Below = max(want.Low, here.Low), max(want.High, here.High), want.Below && here.Below
			want.Open = want.Open || here.Open || bound == breathing.Unbounded() && here.Coverage < 1
		}
		got, err := tape.Worst(window, bound)
		require.NoError(t, err)
		require.Equal(t, want.Open, got.Open)
		require.Equal(t, want.Below, got.Below)
		require.InDelta(t, want.Low, got.Low, 1e-9)
		if bound == breathing.FullScale(end) {
			require.InDelta(t, want.High, got.High, 1e-9)
		}
	})
}

func BenchmarkWorstOfAShift(b *testing.B) {
	var tape breathing.Tape
	for i := range 8 * 60 {
		require.NoError(b, tape.Sampled(time.Minute, breathing.Measured(float64(i%17))))
	}
	for b.Loop() {
		_, err := tape.Worst(15*time.Minute, breathing.WorstObserved())
		require.NoError(b, err)
	}
}

// The worked example of 29 CFR 1910.1000(d)(1)(i).
func ExampleTape_Last() {
	var tape breathing.Tape
	for _, s := range []struct {
		hours time.Duration
		ppm   float64
	}{{2, 150}, {2, 75}, {4, 50}} {
		if err := tape.Sampled(s.hours*time.Hour, breathing.Measured(s.ppm)); err != nil {
			fmt.Println(err)
		}
	}
	a, err := tape.Last(8*time.Hour, breathing.WorstObserved())
	fmt.Println(a.High, a.Against(100), err)
	// Output: 81.25 within the limit <nil>
}
