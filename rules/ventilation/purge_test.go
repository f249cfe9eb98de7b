package ventilation_test

import (
	"testing"
	"time"

	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"wetside/rules/ventilation"
	"wetside/sensors/quantity"
)

// cdcTable is the 1994 MMWR table S3-1: air changes an hour, and minutes to
// remove 90, 99 and 99.9 % with no source and perfect mixing.
func cdcTable() [][4]float64 {
	return [][4]float64{
		{1, 138, 276, 414}, {2, 69, 138, 207}, {3, 46, 92, 138}, {4, 35, 69, 104}, {5, 28, 55, 83}, {6, 23, 46, 69},
		{8, 17, 35, 52}, {9, 15, 31, 46}, {10, 14, 28, 41}, {11, 13, 25, 38}, {12, 12, 23, 35}, {13, 11, 21, 32},
		{14, 10, 20, 30}, {15, 9, 18, 28}, {16, 9, 17, 26}, {17, 8, 16, 24}, {18, 8, 15, 23}, {19, 7, 15, 22},
		{20, 7, 14, 21}, {25, 6, 11, 17}, {30, 5, 9, 14}, {35, 4, 8, 12}, {40, 3, 7, 10}, {45, 3, 6, 9}, {50, 3, 6, 8},
	}
}

func TestPurgeTimeReproducesTheCDCTable(t *testing.T) {
	// MMWR 1994 table S3-1; the rows 2, 4, 6, 8, 10, 12, 15, 20 and 50 also stand in
	// the CDC table B.1 of 2003. Printed to the minute.
	for _, row := range cdcTable() {
		for i, share := range []quantity.Percent{90, 99, 99.9} {
			d, err := ventilation.PurgeTime(quantity.PerHour(row[0]), share, 1)
			require.NoError(t, err)
			require.InDelta(t, row[i+1], d.Minutes(), 0.5, "%g air changes, %g %%", row[0], share)
		}
	}
}

func TestPoorMixingTakesLonger(t *testing.T) {
	// Textbook formula: the mixing factor multiplies the time.
	good, err := ventilation.PurgeTime(6, 99, 1)
	require.NoError(t, err)
	poor, err := ventilation.PurgeTime(6, 99, 3)
	require.NoError(t, err)
	require.InEpsilon(t, 3*good.Minutes(), poor.Minutes(), 1e-9)
}

func TestPurgeTimeRefuses(t *testing.T) {
	for _, c := range []struct {
		n      quantity.PerHour
		remove quantity.Percent
		mixing float64
	}{{0, 99, 1}, {-1, 99, 1}, {6, 100, 1}, {6, 0, 1}, {6, 101, 1}, {6, 99, 0.9}, {6, 99, 11}, {1e-9, 99, 1}} {
		d, err := ventilation.PurgeTime(c.n, c.remove, c.mixing)
		require.Error(t, err, "%+v", c)
		require.Zero(t, d)
	}
	_, err := ventilation.Purge{Volume: 30, Remove: 99, Mixing: 1}.Start()
	require.ErrorContains(t, err, "gap")
	_, err = ventilation.Purge{Remove: 99, Mixing: 1, LongestGap: time.Minute}.Start()
	require.ErrorContains(t, err, "room volume")
	_, err = ventilation.Purge{Volume: 30, Remove: 100, Mixing: 1, LongestGap: time.Minute}.Start()
	require.ErrorContains(t, err, "100 %")
}

func evening() time.Time { return time.Date(2026, 3, 5, 18, 0, 0, 0, time.UTC) }

func TestCountdownOnConstantFlowEqualsTheFormula(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		volume := rapid.Float64Range(10, 300).Draw(t, "volume")
		n := rapid.Float64Range(2, 30).Draw(t, "changes")
		share := quantity.Percent(rapid.Float64Range(10, 99.9).Draw(t, "share"))
		mixing := rapid.Float64Range(1, 10).Draw(t, "mixing")
		step := time.Duration(rapid.IntRange(1, 60).Draw(t, "step")) * time.Second
		c, err := ventilation.Purge{Volume: quantity.CubicMetre(volume), Remove: share, Mixing: mixing, LongestGap: time.Minute}.Start()
		require.NoError(t, err)
		want, err := ventilation.PurgeTime(quantity.PerHour(n), share, mixing)
		require.NoError(t, err)

		at, flow := evening(), ventilation.Known(quantity.CubicMetrePerHour(n*volume))
		c = c.Observe(at, flow)
		left, known := c.Remaining()
		require.Equal(t, want <= 24*time.Hour, known)
		require.InDelta(t, want.Seconds(), left.Seconds(), 0.001)
		for !c.Done() {
			at = at.Add(step)
			c = c.Observe(at, flow)
		}
		left, known = c.Remaining()
		require.True(t, known && left == 0, "what is done has nothing left")
		took := at.Sub(evening())
		require.GreaterOrEqual(t, took+time.Millisecond, want)
		require.LessOrEqual(t, took, want+step+time.Millisecond)
		require.GreaterOrEqual(t, float64(c.Removed())+1e-6, float64(share))
	})
}

func TestCountdownPausesWhileNothingMoves(t *testing.T) {
	c, err := ventilation.Purge{Volume: 30, Remove: 99, Mixing: 1, LongestGap: time.Minute}.Start()
	require.NoError(t, err)
	_, known := c.Remaining()
	require.False(t, known, "no flow read yet")

	at, flow := evening(), ventilation.Known(quantity.CubicMetrePerHour(300))
	for range 10 {
		c = c.Observe(at, flow)
		at = at.Add(time.Minute)
	}
	before := c.Removed()
	require.InDelta(t, 100*(1-0.2231302), float64(before), 0.001) // 9 min at 10 air changes: 1 - exp(-1.5)

	for _, nothing := range []ventilation.Optional[quantity.CubicMetrePerHour]{
		ventilation.Known(quantity.CubicMetrePerHour(-5)), ventilation.Known(quantity.CubicMetrePerHour(0)), {},
	} {
		c = c.Observe(at, nothing)
		at = at.Add(time.Minute)
		_, known = c.Remaining()
		require.False(t, known)
	}
	require.Equal(t, before, c.Removed())

	at = at.Add(time.Minute)
	c = c.Observe(at, flow)
	left, known := c.Remaining()
	require.True(t, known)
	require.InDelta(t, 27.631-9, left.Minutes(), 0.001) // 60·ln(100)/10 less nine minutes
}

func TestCountdownCountsNothingOverGapsAndClockSteps(t *testing.T) {
	c, err := ventilation.Purge{Volume: 30, Remove: 99, Mixing: 1, LongestGap: time.Minute}.Start()
	require.NoError(t, err)
	flow := ventilation.Known(quantity.CubicMetrePerHour(300))
	c = c.Observe(evening(), flow)
	c = c.Observe(evening().Add(time.Hour), flow)
	require.Zero(t, c.Removed(), "an hour without a reading proves nothing")
	c = c.Observe(evening().Add(-time.Hour), flow)
	require.Zero(t, c.Removed(), "the clock went back")
	c = c.Observe(evening().Add(-time.Hour), flow)
	require.Zero(t, c.Removed(), "the same reading twice")
}

func TestZeroCountdownIsNeverDone(t *testing.T) {
	var c ventilation.Countdown
	c = c.Observe(evening(), ventilation.Known(quantity.CubicMetrePerHour(300)))
	require.False(t, c.Done())
	require.Zero(t, c.Removed())
	_, known := c.Remaining()
	require.False(t, known)
}

func BenchmarkCountdown(b *testing.B) {
	c, err := ventilation.Purge{Volume: 30, Remove: 99, Mixing: 1, LongestGap: time.Minute}.Start()
	require.NoError(b, err)
	flow, at := ventilation.Known(quantity.CubicMetrePerHour(300)), evening()
	for b.Loop() {
		at = at.Add(time.Second)
		c = c.Observe(at, flow)
	}
}
