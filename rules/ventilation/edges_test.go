package ventilation_test

import (
	"slices"
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"wetside/rules/ventilation"
	"wetside/sensors/quantity"
)

func TestOfTwoTimersThatWereSeenAlikeOftenTheLongerOneCounts(t *testing.T) {
	for _, runs := range [][]float64{{60, 60, 60, 120, 120, 120, 120}, {120, 120, 120, 120, 60, 60, 60}} {
		stop, found := ventilation.FindTimedStop(evenings(runs...), evening(), evening())
		require.True(t, found)
		require.Equal(t, 4, stop.Seen)
		require.Equal(t, 2*time.Hour, stop.Length)
	}
	// Runs of 60 min have as many longer ones beside them as they are: somebody switches by hand.
	stop, found := ventilation.FindTimedStop(evenings(60, 60, 60, 120, 120, 120), evening(), evening())
	require.True(t, found)
	require.Equal(t, 2*time.Hour, stop.Length)
	_, found = ventilation.FindTimedStop(evenings(60, 60, 60, 120, 150, 170), evening(), evening())
	require.False(t, found)
	// Of the longer runs none is seen twenty runs back any more.
	old := append(slices.Repeat([]float64{150, 155, 160}, 10), slices.Repeat([]float64{60}, 20)...)
	stop, found = ventilation.FindTimedStop(evenings(old...), evening(), evening())
	require.True(t, found)
	require.Equal(t, 20, stop.Seen)
}

func TestAPurgeOfAYearIsTheLongest(t *testing.T) {
	// To remove 1 - 1/e takes one volume: at 1/8760 an hour, a year.
	const oneVolume = 63.2120558828557678
	d, err := ventilation.PurgeTime(1/8759.9, oneVolume, 1)
	require.NoError(t, err)
	require.InDelta(t, 8759.9, d.Hours(), 0.01)
	_, err = ventilation.PurgeTime(1/8760.1, oneVolume, 1)
	require.ErrorContains(t, err, "over a year")
}

// A probe is read by the first that is good, and where none is, the first stands for the flow that is not known.
func TestTheFlowRestsOnTheMostDirectProbeThatIsGood(t *testing.T) {
	for _, c := range []struct {
		probes []int // even ones are good
		lead   int
		known  bool
	}{{[]int{2, 3, 4}, 2, true}, {[]int{3, 5, 4}, 4, true}, {[]int{3, 5, 7}, 3, false}} {
		lead, known := ventilation.Leading(func(yield func(*int) bool) {
			for i := range c.probes {
				if !yield(&c.probes[i]) {
					return
				}
			}
		}, func(p *int) bool { return *p%2 == 0 })
		require.Equal(t, c.lead, *lead)
		require.Equal(t, c.known, known)
	}
	lead, known := ventilation.Leading(func(func(*int) bool) {}, func(*int) bool { return true })
	require.Nil(t, lead)
	require.False(t, known)
}

func TestARoundDuctIsTraversedAlongTwoDiameters(t *testing.T) {
	points, err := ventilation.RoundTraverse(0.3)
	require.NoError(t, err)
	n := len(points) / 2
	for i := range n {
		level, upright := points[i], points[n+i]
		require.InDelta(t, 0.15, float64(level.Y), 1e-12)
		require.InDelta(t, 0.15, float64(upright.X), 1e-12)
		require.Equal(t, level.X, upright.Y)
		require.InDelta(t, 0.3, float64(level.X+points[n-1-i].X), 1e-4, "the places lie even to the middle")
	}
}

// A point is named by its number from 1, as the form numbers it.
func TestThePointWithoutVelocityIsNamedAsTheFormNumbersIt(t *testing.T) {
	c := commissioning(t)
	c.Velocities[2] = 0
	_, err := c.Evaluate()
	require.ErrorContains(t, err, "point 3 reads")
}

func TestAFlowFallsOnlyWhereItFellForSureAndByATwentieth(t *testing.T) {
	for _, c := range []struct {
		name    string
		flows   []float64 // a week apart
		falling bool
	}{
		{"surely, by a tenth", []float64{300, 294, 288, 282, 276, 270}, true},
		{"surely, by a hundredth", []float64{300, 299.4, 298.8, 298.2, 297.6, 297}, false},
		{"by a tenth, in noise of a fifth", []float64{330, 240, 340, 230, 330, 250}, false},
		{"it rises", []float64{270, 276, 282, 288, 294, 300}, false},
	} {
		var days []ventilation.DayFlow
		for i, f := range c.flows {
			days = append(days, ventilation.DayFlow{At: evening().AddDate(0, 0, 7*i), Flow: quantity.CubicMetrePerHour(f)})
		}
		trend, err := ventilation.FitTrend(days, ventilation.Limits{Low: 240})
		require.NoError(t, err)
		require.Equal(t, c.falling, trend.Falling, c.name)
		at, meets := trend.ReachesLow.Get()
		require.Equal(t, c.falling, meets, c.name)
		if meets { // 6 m³/h a week from 300: 240 after ten weeks
			require.WithinDuration(t, evening().AddDate(0, 0, 70), at, time.Hour)
		}
	}
}

func TestRangesIncludeTheirEnds(t *testing.T) {
	can := func(_ any, err error) bool { return err == nil }
	for at, want := range map[quantity.Celsius]bool{-50.1: false, -50: true, 100: true, 100.1: false} {
		require.Equal(t, want, can(ventilation.AirDensity(at, 101325)), at)
	}
	for at, want := range map[quantity.Metre]bool{-500.1: false, -500: true, 11000: true, 11000.1: false} {
		require.Equal(t, want, can(ventilation.PressureAtAltitude(at)), at)
	}
	for factor, want := range map[float64]bool{0: false, 0.01: true, 2: true, 2.01: false} {
		require.Equal(t, want, can(ventilation.Duct{Area: 1, Factor: factor}.Flow(0)), factor)
	}
	for u, want := range map[quantity.Percent]bool{-0.1: false, 0: true, 30: true, 30.1: false} {
		require.Equal(t, want, can(ventilation.LimitsFor(300, u, 270)), u)
	}
	for s, want := range map[ventilation.Shares]bool{{Low: 80, Clear: 80, Stopped: 10}: true, {Low: 80, Clear: 100, Stopped: 10}: true,
		{Low: 80, Clear: 85, Stopped: 79.9}: true, {Low: 80, Clear: 85, Stopped: 80}: false, {Low: 80, Clear: 100.1, Stopped: 10}: false,
		{Low: 80, Clear: 85}: false, {Low: 80, Clear: 79.9, Stopped: 10}: false} {
		require.Equal(t, want, can(ventilation.DeriveLimits(300, s)), s)
	}
	v, err := ventilation.VelocityFromPressure(0, 1.2)
	require.NoError(t, err, "still air has a pressure of zero")
	require.Zero(t, v)
	for name, c := range map[string]struct {
		spoil func(*ventilation.Commissioning)
		want  bool
	}{
		"the last day":          {func(c *ventilation.Commissioning) { c.CertificateEnds = c.At.AddDate(0, 0, -1) }, true},
		"the day after":         {func(c *ventilation.Commissioning) { c.CertificateEnds = c.At.AddDate(0, 0, -1).Add(-1) }, false},
		"a fifth":               {func(c *ventilation.Commissioning) { c.InstrumentUncertainty = 20 }, true},
		"more than a fifth":     {func(c *ventilation.Commissioning) { c.InstrumentUncertainty = 20.1 }, false},
		"half of the mean":      {func(c *ventilation.Commissioning) { c.AtProbe = 2 }, true},
		"less than half of it":  {func(c *ventilation.Commissioning) { c.AtProbe = 1.99 }, false},
		"one velocity too many": {func(c *ventilation.Commissioning) { c.Velocities = append(c.Velocities, 4) }, false},
	} {
		c0 := commissioning(t)
		c.spoil(&c0)
		require.Equal(t, c.want, can(c0.Evaluate()), name)
	}
}

// A commissioned flow of 300 m³/h: stopped below 30, low below 240, moving again from 255.
func TestASentenceTellsTheFlowBesideWhatItIsJudgedBy(t *testing.T) {
	for _, c := range []struct {
		flow   float64
		before ventilation.State
		want   string
	}{
		{29.9, "", "No air moves: 30 m³/h, commissioned 300 m³/h."},
		{30, "", "Too little air: 30 m³/h, low below 240 m³/h."},
		{239, "", "Too little air: 239 m³/h, low below 240 m³/h."},
		{254, ventilation.Low, "Still too little air: 254 m³/h, moving again from 255 m³/h."},
		{255, ventilation.Low, "Air is moving: 255 m³/h, 85 % of the commissioned flow."},
		{240, "", "Air is moving: 240 m³/h, 80 % of the commissioned flow."},
	} {
		p := ventilation.Prove(ventilation.Evidence{Limits: limits(t), Signs: flowOf(c.flow), Before: c.before})
		require.Equal(t, c.want, p.Sentence.String())
	}
	p := ventilation.Prove(ventilation.Evidence{Signs: flowOf(300)})
	require.Equal(t, "The probe reads 300 m³/h, but the room has neither a commissioned nor a required flow to judge it by.",
		p.Sentence.String())
	require.Equal(t, "commissioned 300.0 m³/h; low below 80 % of it = 240.0 m³/h, moving again from 85 % = 255.0 m³/h, "+
		"stopped below 10 % = 30.0 m³/h", limits(t).Derivation.String())
	asked := ventilation.RequiredLimits(200)
	require.Equal(t, "not commissioned; low below the required 200.0 m³/h, moving again from 210.0 m³/h, stopped below 20.0 m³/h",
		asked.Derivation.String())
	require.InDelta(t, 210, float64(asked.Clear), 1e-9)
	require.InDelta(t, 20, float64(asked.Stopped), 1e-9)
	never, err := ventilation.LimitsFor(0, 0, 200)
	require.NoError(t, err)
	require.Equal(t, asked, never)
}
