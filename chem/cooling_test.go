package chem_test

import (
	"math"
	"math/rand/v2"
	"testing"
	"time"

	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"wetside/chem"
	"wetside/sensors/quantity"
)

// tray is a pretended bath: T(t) = rest + above exp(-t/tau), read twice a minute
// by a probe with a step and some noise.
type tray struct {
	rest, above float64
	tau, span   time.Duration
	noise, step float64
	seed        uint64
}

func (b tray) at(t time.Duration) float64 {
	return b.rest + b.above*math.Exp(-t.Seconds()/b.tau.Seconds())
}

func (b tray) samples() []chem.Sample {
	random := rand.New(rand.NewPCG(b.seed, 7))
	var out []chem.Sample
	for t := time.Duration(0); t <= b.span; t += 30 * time.Second {
		y := b.at(t) + b.noise*random.NormFloat64()
		if b.step > 0 {
			y = math.Round(y/b.step) * b.step
		}
		out = append(out, chem.Sample{At: t, Temperature: quantity.Celsius(y)})
	}
	return out
}

// left is the true time to an edge after the last reading.
func (b tray) left(edge float64) time.Duration {
	return time.Duration(b.tau.Seconds()*math.Log(b.above/(edge-b.rest))*float64(time.Second)) - b.span
}

func fitted(t require.TestingT, b tray) chem.Cooling {
	c, err := chem.FitCooling(b.samples(), b.step)
	require.NoError(t, err)
	return c
}

func stay(t require.TestingT, c chem.Cooling, low, high quantity.Celsius) chem.Stay {
	s, err := c.Stay(chem.Band{Low: low, High: high})
	require.NoError(t, err)
	return s
}

func TestAFirstOrderCoolingIsFoundAgain(t *testing.T) {
	b := tray{rest: 17, above: 4, tau: 90 * time.Minute, span: time.Hour}
	c := fitted(t, b)
	require.InDelta(t, 17, float64(c.At(1000*time.Hour)), 0.2, "the bath comes to rest")
	require.InDelta(t, b.at(time.Hour+b.tau), float64(c.At(time.Hour+b.tau)), 0.1, "and has 37 % of the way left after its time constant")
	require.InDelta(t, b.at(time.Hour), float64(c.At(time.Hour)), 0.005)
	s := stay(t, c, 18, 22)
	require.Equal(t, chem.WillLeave, s.Verdict)
	require.Equal(t, quantity.Celsius(18), s.Edge)
	// tau ln((T - Tinf)/(Tedge - Tinf)) = 90 ln 4 - 60 = 64.8 min (arithmetic).
	require.InDelta(t, 64.8, s.In.Minutes(), 2)
}

func TestABathThatRestsInItsBandWillNotLeave(t *testing.T) {
	s := stay(t, fitted(t, tray{rest: 19, above: 2, tau: 40 * time.Minute, span: 2 * time.Hour}), 18, 22)
	require.Equal(t, chem.WillNotLeave, s.Verdict)
	require.Zero(t, s.In)
	require.Zero(t, s.Earliest)
}

func TestAWarmingBathMakesForTheUpperEdge(t *testing.T) {
	b := tray{rest: 26, above: -6, tau: 60 * time.Minute, span: 20 * time.Minute}
	s := stay(t, fitted(t, b), 18, 24)
	require.Equal(t, chem.WillLeave, s.Verdict)
	require.Equal(t, quantity.Celsius(24), s.Edge)
	require.InDelta(t, b.left(24).Minutes(), s.In.Minutes(), 4)
}

func TestABathOutsideItsBandSaysSo(t *testing.T) {
	s := stay(t, fitted(t, tray{rest: 16, above: 1, tau: 60 * time.Minute, span: 20 * time.Minute}), 18, 24)
	require.Equal(t, chem.OutsideNow, s.Verdict)
}

func TestNoForecastFromTooLittle(t *testing.T) {
	b := tray{rest: 17, above: 4, tau: time.Hour, span: 9 * time.Minute}
	_, err := chem.FitCooling(b.samples(), 0.1)
	require.True(t, chem.IsRefusal(err))
	_, err = chem.FitCooling(nil, 0.1)
	require.True(t, chem.IsRefusal(err))
	few := []chem.Sample{{At: 0, Temperature: 20}, {At: 20 * time.Minute, Temperature: 19}}
	_, err = chem.FitCooling(few, 0.1)
	require.True(t, chem.IsRefusal(err))
	_, err = chem.Cooling{}.Stay(chem.Band{Low: 18, High: 22})
	require.True(t, chem.IsRefusal(err))
	b.span = time.Hour
	_, err = fitted(t, b).Stay(chem.Band{Low: 22, High: 18})
	require.Error(t, err)
}

func TestAPourInBetweenIsNoCooling(t *testing.T) {
	b := tray{rest: 17, above: 4, tau: time.Hour, span: time.Hour}
	samples := b.samples()
	for i := range samples {
		if i > len(samples)/2 {
			samples[i].Temperature += 3
		}
	}
	_, err := chem.FitCooling(samples, 0.1)
	require.ErrorContains(t, err, "was something poured")
}

func TestEarlyReadingsLeaveItOpen(t *testing.T) {
	b := tray{rest: 18.3, above: 1.5, tau: 50 * time.Minute, span: 12 * time.Minute, noise: 0.03, step: 0.0625, seed: 3}
	s := stay(t, fitted(t, b), 18, 22)
	require.True(t, s.MayNever, "twelve minutes do not tell 18.3 from 17.9 °C")
	require.Positive(t, s.Earliest)
	samples := b.samples()
	samples[7].Temperature = quantity.Celsius(math.NaN())
	c, err := chem.FitCooling(samples, b.step)
	require.NoError(t, err)
	require.Positive(t, stay(t, c, 18, 22).Earliest)
}

// The interval is to hold the true time in about 95 of 100 evenings: of 1,000 drawn ones, with a fixed seed, within
// three standard deviations (6.9) of 950.
func TestTheIntervalCoversTheTruth(t *testing.T) {
	early, late := 0, 0
	for seed := range uint64(1000) {
		b := tray{rest: 16.5, above: 4.5, tau: 80 * time.Minute, span: 25 * time.Minute, noise: 0.05, step: 0.0625, seed: seed}
		s := stay(t, fitted(t, b), 18, 24)
		truth := b.left(18)
		if s.Earliest == 0 || s.Earliest > truth { // zero: it will stay, it says
			early++
		}
		if !s.MayNever && s.Latest < truth {
			late++
		}
	}
	t.Logf("of 1,000 truths %d came before the earliest and %d after the latest", early, late)
	require.InDelta(t, 50, early+late, 20.7)
}

// Without noise a cooling is found again between the time constants that are tried, which lie a tenth apart.
func TestACoolingIsFoundBetweenTheTimeConstantsTried(t *testing.T) {
	for _, minutes := range []int{40, 43, 47, 52, 57, 63, 69, 76} {
		b := tray{rest: 16, above: 5, tau: time.Duration(minutes) * time.Minute, span: time.Hour}
		c := fitted(t, b)
		require.InDelta(t, 16, float64(c.At(1000*time.Hour)), 0.02, "%d min", minutes)
		require.InDelta(t, b.left(16.5).Minutes(), stay(t, c, 16.5, 22).In.Minutes(), 1.5, "%d min", minutes)
	}
}

// A probe that swings by half a kelvin within a minute is averaged; one that swings as slowly as the blocks are long is not.
func TestReadingsOfAFastProbeAreAveraged(t *testing.T) {
	b := tray{rest: 17, above: 4, tau: time.Hour, span: time.Hour}
	var fast []chem.Sample
	for _, s := range b.samples() {
		for i, off := range []quantity.Celsius{0.5, -0.5} {
			fast = append(fast, chem.Sample{At: s.At + time.Duration(i)*15*time.Second, Temperature: s.Temperature + off})
		}
	}
	c, err := chem.FitCooling(fast, 0.0625)
	require.NoError(t, err)
	require.InDelta(t, stay(t, fitted(t, b), 18, 22).In.Minutes(), stay(t, c, 18, 22).In.Minutes(), 3)
}

// Three figures are fitted, so seven readings leave four to judge the scatter by: 0.26 K is root 7/4 times 0.2 K.
func TestFewReadingsAreJudgedByWhatTheFitLeaves(t *testing.T) {
	for _, c := range []struct {
		swing float64
		count int
		can   bool
	}{{0.2, 7, true}, {0.27, 7, false}, {0.27, 6, false}, {0.1, 6, true}, {0.1, 5, false}} {
		var samples []chem.Sample
		for i := range c.count {
			off := c.swing * float64(1-2*(i%2))
			samples = append(samples, chem.Sample{At: time.Duration(i) * 3 * time.Minute, Temperature: quantity.Celsius(20 + off)})
		}
		_, err := chem.FitCooling(samples, 0.0625)
		require.Equal(t, c.can, err == nil, "%+v: %v", c, err)
	}
	ten := tray{rest: 17, above: 4, tau: time.Hour, span: 10 * time.Minute}
	require.NoError(t, second(chem.FitCooling(ten.samples(), 0.1)))
	require.ErrorContains(t, second(chem.FitCooling(ten.samples()[1:], 0.1)), "less than 10 minutes")
}

func TestForecastsAreInOrder(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		b := tray{
			rest: rapid.Float64Range(10, 26).Draw(t, "rest"), above: rapid.Float64Range(-6, 6).Draw(t, "above"),
			tau:  time.Duration(rapid.IntRange(10, 400).Draw(t, "tau")) * time.Minute,
			span: time.Duration(rapid.IntRange(10, 180).Draw(t, "span")) * time.Minute,
			step: 0.0625, noise: 0.03, seed: rapid.Uint64().Draw(t, "seed"),
		}
		s := stay(t, fitted(t, b), 18, 22)
		switch s.Verdict {
		case chem.WillLeave:
			require.LessOrEqual(t, s.Earliest, s.In)
			require.LessOrEqual(t, s.In, s.Latest)
		case chem.OutsideNow, chem.WillNotLeave:
			require.Zero(t, s.In)
		default:
			require.Fail(t, "no verdict")
		}
	})
}

// Thirty minutes of one and the same reading forecast no leaving, and rule none out where the bath stands just above
// its lower edge.
func TestABathThatStandsStill(t *testing.T) {
	for _, c := range []struct {
		at      float64
		verdict chem.StayVerdict
		near    bool
	}{{17.99, chem.OutsideNow, false}, {18, chem.WillNotLeave, true}, {18.01, chem.WillNotLeave, true}, {21, chem.WillNotLeave, false},
		{24, chem.WillNotLeave, false}, {24.01, chem.OutsideNow, false}} {
		s := stay(t, fitted(t, tray{rest: c.at, tau: time.Hour, span: 30 * time.Minute, step: 0.01}), 18, 24)
		require.Equal(t, c.verdict, s.Verdict, "%v", c.at)
		require.Equal(t, c.near, s.Earliest > 0, "%v: %v", c.at, s)
		require.Zero(t, s.In)
		require.Zero(t, s.Latest)
	}
	// Of the times ahead that are tried the first is half a minute, each five per cent (root 1.1068726) after the one before; a bound
	// lies midway to the next: 2.5 per cent before half a minute are 29.25 s.
	s := stay(t, fitted(t, tray{rest: 18, tau: time.Hour, span: 30 * time.Minute, step: 0.01}), 18, 24)
	require.InDelta(t, 29.25, s.Earliest.Seconds(), 0.01)
}

// Without noise a cooling is forecast to two per cent, within bounds that lie a quarter of the truth around it at most.
func TestWithoutNoiseTheBoundsLieCloseAroundTheTruth(t *testing.T) {
	for _, minutes := range []int{40, 50, 65, 80, 100} {
		b := tray{rest: 14, above: 8, tau: time.Duration(minutes) * time.Minute, span: time.Hour}
		edge := 14.5 + 8*math.Exp(-60/float64(minutes))/3
		c := fitted(t, b)
		s := stay(t, c, quantity.Celsius(edge), 24)
		truth := b.left(edge).Minutes()
		require.False(t, s.MayNever)
		require.LessOrEqual(t, s.Earliest, s.In)
		require.LessOrEqual(t, s.In, s.Latest)
		require.Greater(t, s.Earliest.Minutes(), 0.85*truth)
		require.Less(t, s.Latest.Minutes(), 1.26*truth)
		require.InEpsilon(t, truth, s.In.Minutes(), 0.02)
	}
}

func BenchmarkStay(b *testing.B) {
	samples := tray{rest: 17, above: 4, tau: 90 * time.Minute, span: time.Hour, step: 0.0625}.samples()
	for b.Loop() {
		c, err := chem.FitCooling(samples, 0.0625)
		require.NoError(b, err)
		_, err = c.Stay(chem.Band{Low: 18, High: 22})
		require.NoError(b, err)
	}
}
