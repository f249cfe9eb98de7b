package ventilation_test

import (
	"fmt"
	"math"
	"testing"
	"time"

	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"wetside/rules/ventilation"
	"wetside/sensors/quantity"
)

func TestTraversePoints(t *testing.T) {
	// Log-Tchebycheff and log-linear positions: from memory, so only their
	// arithmetic is checked: number, place inside the duct, symmetry about the middle.
	for _, c := range []struct {
		width, height quantity.Metre
		points        int
	}{{0.3, 0.2, 25}, {0.8, 0.4, 30}, {1.2, 0.9, 42}, {1, 1, 49}} {
		points, err := ventilation.RectangularTraverse(c.width, c.height)
		require.NoError(t, err)
		require.Len(t, points, c.points)
		var x, y quantity.Metre
		places := map[ventilation.Point]bool{}
		for _, p := range points {
			require.True(t, p.X > 0 && p.X < c.width && p.Y > 0 && p.Y < c.height, p)
			x, y, places[p] = x+p.X, y+p.Y, true
		}
		require.InDelta(t, float64(c.width)/2, float64(x)/float64(c.points), 1e-9)
		require.InDelta(t, float64(c.height)/2, float64(y)/float64(c.points), 1e-9)
		require.Len(t, places, c.points)
	}
	round, err := ventilation.RoundTraverse(0.15)
	require.NoError(t, err)
	require.Len(t, round, 12)
	require.InDelta(t, 0.032*0.15, float64(round[0].X), 1e-12)
	require.InDelta(t, 0.968*0.15, float64(round[11].Y), 1e-12)

	for _, bad := range []quantity.Metre{0, -1} {
		_, err = ventilation.RoundTraverse(bad)
		require.Error(t, err)
		_, err = ventilation.RectangularTraverse(bad, 1)
		require.Error(t, err)
		_, err = ventilation.RectangularTraverse(1, bad)
		require.Error(t, err)
	}
}

// velocities are those of velocity pressures at 1.2 kg/m3, one a point.
func velocities(t require.TestingT, pressures ...quantity.Pascal) (out []quantity.MetrePerSecond) {
	for _, p := range pressures {
		v, err := ventilation.VelocityFromPressure(p, 1.2)
		require.NoError(t, err)
		out = append(out, v)
	}
	return out
}

func TestMeanOfVelocitiesNotVelocityOfMean(t *testing.T) {
	// Textbook: 4 and 16 Pa at 1.2 kg/m3 are 2.582 and 5.164 m/s, mean 3.873; the
	// velocity of the mean pressure, 4.082, would be 5 % too high.
	v := velocities(t, 4, 16)
	mean, err := ventilation.MeanVelocity(v)
	require.NoError(t, err)
	require.InDelta(t, 3.873, float64(mean), 0.001)

	_, err = ventilation.MeanVelocity(nil)
	require.Error(t, err)
	_, err = ventilation.MeanVelocity([]quantity.MetrePerSecond{1, -1})
	require.ErrorContains(t, err, "velocity 2")
}

func TestMeanVelocityNeverExceedsVelocityOfMeanPressure(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		var sum quantity.Pascal
		var pressures []quantity.Pascal
		for _, p := range rapid.SliceOfN(rapid.Float64Range(0, 500), 1, 30).Draw(t, "pressures") {
			pressures, sum = append(pressures, quantity.Pascal(p)), sum+quantity.Pascal(p)
		}
		mean, err := ventilation.MeanVelocity(velocities(t, pressures...))
		require.NoError(t, err)
		wrong, err := ventilation.VelocityFromPressure(sum/quantity.Pascal(len(pressures)), 1.2)
		require.NoError(t, err)
		require.LessOrEqual(t, float64(mean), float64(wrong)*(1+1e-9))
	})
}

func commissioning(t testing.TB) ventilation.Commissioning {
	points, err := ventilation.RoundTraverse(0.15)
	require.NoError(t, err)
	return ventilation.Commissioning{
		At: time.Date(2026, 1, 12, 10, 0, 0, 0, time.UTC), By: "A. Example", Instrument: "hot-wire anemometer 0001",
		Certificate: "INVENTED-17", Conditions: "doors closed",
		CertificateEnds: time.Date(2026, 12, 31, 0, 0, 0, 0, time.UTC), InstrumentUncertainty: 4,
		Area: 0.0176714587, Points: points, AtProbe: 4.5,
		Velocities: []quantity.MetrePerSecond{3, 3.8, 4.6, 4.8, 4.2, 3.6, 3, 3.8, 4.6, 4.8, 4.2, 3.6},
	}
}

func TestCommissioning(t *testing.T) {
	c := commissioning(t)
	got, err := c.Evaluate()
	require.NoError(t, err)
	require.InDelta(t, 4, float64(got.Mean), 1e-9)
	require.InDelta(t, 254.5, float64(got.Flow), 0.1) // textbook formula, 0.15 m duct at 4 m/s
	require.InDelta(t, 4/4.5, got.Factor, 1e-9)
	require.InDelta(t, 62.5, float64(got.Evenness), 1e-9)
	require.InDelta(t, 5, float64(got.Uncertainty), 1e-9, "3 % of twelve points and 4 % of the instrument, as squares")

	for name, spoil := range map[string]func(*ventilation.Commissioning){
		"no name":         func(c *ventilation.Commissioning) { c.By = "" },
		"no instrument":   func(c *ventilation.Commissioning) { c.Instrument = " " },
		"no certificate":  func(c *ventilation.Commissioning) { c.Certificate = "" },
		"no date":         func(c *ventilation.Commissioning) { c.At = time.Time{} },
		"a point missing": func(c *ventilation.Commissioning) { c.Velocities = c.Velocities[1:] },
		"no points":       func(c *ventilation.Commissioning) { c.Points, c.Velocities = nil, nil },
		"no area":         func(c *ventilation.Commissioning) { c.Area = 0 },
		"no fixed probe":  func(c *ventilation.Commissioning) { c.AtProbe = 0 },
		"dead probe":      func(c *ventilation.Commissioning) { c.AtProbe = 1 },
		"still air":       func(c *ventilation.Commissioning) { clear(c.Velocities); c.ZerosConfirmed = true },
		"a zero point":    func(c *ventilation.Commissioning) { c.Velocities[3] = 0 },
		"no conditions":   func(c *ventilation.Commissioning) { c.Conditions = " " },
		"no end":          func(c *ventilation.Commissioning) { c.CertificateEnds = time.Time{} },
		"old certificate": func(c *ventilation.Commissioning) { c.CertificateEnds = c.At.AddDate(0, 0, -2) },
		"no uncertainty":  func(c *ventilation.Commissioning) { c.InstrumentUncertainty = 0 },
	} {
		c := commissioning(t)
		spoil(&c)
		_, err := c.Evaluate()
		require.Error(t, err, name)
	}
}

func TestAPointWithoutVelocityCountsOnceItWasMeasuredTwice(t *testing.T) {
	c := commissioning(t)
	c.Velocities[0], c.ZerosConfirmed = 0, true
	got, err := c.Evaluate()
	require.NoError(t, err)
	require.InDelta(t, 3.75, float64(got.Mean), 1e-9)
	require.InDelta(t, math.Hypot(6, 4), float64(got.Uncertainty), 1e-9, "an uneven flow counts double")
}

// The guard band is the expanded uncertainty of the measured flow: what is accepted may be
// less by it and still reaches what is required (ILAC-G8 and ISO 14253-1, from memory).
func TestAnAcceptedFlowReachesWhatIsRequiredLessItsUncertainty(t *testing.T) {
	l, err := ventilation.LimitsFor(300, 10, 270)
	require.NoError(t, err)
	require.InDelta(t, 300, float64(l.Low), 1e-9)
	require.Contains(t, l.Derivation.String(), `"low" raised to 300.0 m³/h: the required 270.0 m³/h with a guard band of 10.0 %, the `+
		`uncertainty of the traverse`)
	rapid.Check(t, func(t *rapid.T) {
		u := quantity.Percent(rapid.Float64Range(0, 30).Draw(t, "uncertainty"))
		required := quantity.CubicMetrePerHour(rapid.Float64Range(1, 1000).Draw(t, "required"))
		l, err := ventilation.LimitsFor(300, u, required)
		require.NoError(t, err)
		require.GreaterOrEqual(t, float64(l.Low*quantity.CubicMetrePerHour(1-u/100)), float64(required)*(1-1e-12))
		require.GreaterOrEqual(t, float64(l.Low), 240.0)
	})
	_, err = ventilation.LimitsFor(300, 31, 270)
	require.Error(t, err)
}

func TestSlowDecline(t *testing.T) {
	l := limits(t)
	var days []ventilation.DayFlow
	for i := range 10 {
		wobble := 2 * float64(i%2*2-1)
		days = append(days, ventilation.DayFlow{At: evening().AddDate(0, 0, 7*i), Flow: quantity.CubicMetrePerHour(300 - 4*float64(i) + wobble)})
	}
	trend, err := ventilation.FitTrend(days, l)
	require.NoError(t, err)
	require.True(t, trend.Falling)
	require.InDelta(t, -4, float64(trend.PerWeek), 0.3)
	require.True(t, trend.Low < trend.PerWeek && trend.PerWeek < trend.High && trend.High < 0)
	reaches, known := trend.ReachesLow.Get()
	require.True(t, known)
	require.InDelta(t, 15, reaches.Sub(evening()).Hours()/24/7, 1) // 60 m³/h at 4 a week
	require.Contains(t, trend.Sentence().String(), "filter and the belt")
	require.Contains(t, trend.Sentence().String(), "low about 2026-")

	steady := make([]ventilation.DayFlow, len(days))
	for i, d := range days {
		steady[i] = ventilation.DayFlow{At: d.At, Flow: quantity.CubicMetrePerHour(300 + 3*float64(i%2))}
	}
	trend, err = ventilation.FitTrend(steady, l)
	require.NoError(t, err)
	require.False(t, trend.Falling)
	require.Contains(t, trend.Sentence().String(), "no clear decline")

	_, err = ventilation.FitTrend(days[:4], l)
	require.ErrorContains(t, err, "at least 5 sessions")
	for i := range days {
		days[i].At = evening().Add(time.Duration(i) * time.Hour)
	}
	_, err = ventilation.FitTrend(days, l)
	require.ErrorContains(t, err, "two weeks")
	days[0].Flow = -1
	_, err = ventilation.FitTrend(days, l)
	require.Error(t, err)
}

func TestTrendDoesNotDependOnTheOrder(t *testing.T) {
	l := limits(t)
	rapid.Check(t, func(t *rapid.T) {
		var days []ventilation.DayFlow
		for i := range rapid.IntRange(5, 20).Draw(t, "n") {
			days = append(days, ventilation.DayFlow{At: evening().AddDate(0, 0, 5*i), Flow: quantity.CubicMetrePerHour(rapid.Float64Range(100,
				300).Draw(t, "flow"))})
		}
		want, err := ventilation.FitTrend(days, l)
		require.NoError(t, err)
		got, err := ventilation.FitTrend(rapid.Permutation(days).Draw(t, "shuffled"), l)
		require.NoError(t, err)
		require.InDelta(t, float64(want.PerWeek), float64(got.PerWeek), 1e-6)
		require.Equal(t, want.Falling, got.Falling)
	})
}

// The points of a traverse, read out one after the other.
func ExampleRoundTraverse() {
	points, _ := ventilation.RoundTraverse(0.15)
	for _, p := range points[:3] {
		fmt.Printf("%.1f mm\n", 1000*p.X)
	}
	// Output:
	// 4.8 mm
	// 20.2 mm
	// 48.1 mm
}
