package history_test

import (
	"math"
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"wetside/daemon/history"
	"wetside/sensors"
)

func TestAGapIsStoredWithItsCauseAndClosed(t *testing.T) {
	clock := newHandClock(evening())
	s := open(t, t.TempDir(), clock)
	fill(t, s, clock, 60)
	lost := clock.Now().Wall
	require.NoError(t, s.Append(t.Context(), history.Batch{GapsOpened: []history.Gap{{Channel: "tray", From: lost, Cause: "line gone"}}}))
	clock.pass(2 * time.Minute)
	gaps, err := s.Gaps(t.Context(), "tray", evening(), clock.Now().Wall)
	require.NoError(t, err)
	require.Equal(t, []history.Gap{{Channel: "tray", From: lost, Cause: "line gone"}}, gaps)

	back := clock.Now().Wall
	require.NoError(t, s.Append(t.Context(), history.Batch{GapsClosed: []history.Gap{{Channel: "tray", To: back, Cause: "line gone"}}}))
	fill(t, s, clock, 60)
	series, err := s.Series(t.Context(), history.SeriesQuery{Channel: "tray", From: evening(), To: clock.Now().Wall, Points: 500})
	require.NoError(t, err)
	require.Equal(t, []history.Gap{{Channel: "tray", From: lost, To: back, Cause: "line gone"}}, series.Gaps)
	require.Len(t, series.Samples, 120)
	require.Equal(t, "C", series.Unit)
}

func TestTheTimeTheMachineWasOffIsAGap(t *testing.T) {
	clock := newHandClock(evening())
	dir := t.TempDir()
	s := open(t, dir, clock)
	samples := fill(t, s, clock, 60)
	require.NoError(t, s.Append(t.Context(), history.Batch{GapsOpened: []history.Gap{{Channel: "tray", From: clock.Now().Wall,
		Cause: "line gone"}}}))
	require.NoError(t, s.Close())
	stopped := clock.Now().Wall
	clock.pass(20 * time.Hour)
	s = open(t, dir, clock)
	gaps, err := s.Gaps(t.Context(), "tray", evening(), clock.Now().Wall)
	require.NoError(t, err)
	require.Len(t, gaps, 1, "the gap that was open is of no length")
	require.Equal(t, history.Gap{Channel: "tray", From: samples[59].At, To: stopped.Add(20 * time.Hour), Cause: history.CauseMachineOff},
		gaps[0])
}

func TestAChannelOutOfServiceHasNoFurtherGaps(t *testing.T) {
	clock := newHandClock(evening())
	dir := t.TempDir()
	s := open(t, dir, clock)
	fill(t, s, clock, 60)
	require.NoError(t, s.RegisterChannels(t.Context(), "wet", []sensors.Channel{bath(t, "other tray")}))
	require.NoError(t, s.Close())
	clock.pass(time.Hour)
	s, err := history.Open(t.Context(), options(dir, clock))
	require.NoError(t, err)
	defer s.Close()
	gaps, err := s.Gaps(t.Context(), "tray", evening(), clock.Now().Wall)
	require.NoError(t, err)
	require.Empty(t, gaps)
	gaps, err = s.Gaps(t.Context(), "other tray", evening(), clock.Now().Wall)
	require.NoError(t, err)
	require.Len(t, gaps, 1)
	require.Len(t, all(t, s, evening(), clock.Now().Wall), 60, "its samples stay")
}

func TestASilenceNobodyExplainedIsAGapOfUnrecordedCause(t *testing.T) {
	clock := newHandClock(evening())
	s := open(t, t.TempDir(), clock)
	fill(t, s, clock, 60)
	from := clock.Now().Wall.Add(-time.Second)
	clock.pass(5 * time.Minute)
	to := clock.Now().Wall
	fill(t, s, clock, 3000)
	want := []history.Gap{{Channel: "tray", From: from, To: to, Cause: history.CauseUnrecorded}}
	for _, points := range []int{10_000, 300} {
		series, err := s.Series(t.Context(), history.SeriesQuery{Channel: "tray", From: evening(), To: clock.Now().Wall, Points: points})
		require.NoError(t, err)
		require.Equal(t, want, series.Gaps)
	}
}

// TestNoSpikeIsHidden puts one spike each way and one suspect value into two days
// and looks for them at every width of chart.
func TestNoSpikeIsHidden(t *testing.T) {
	clock := newHandClock(evening())
	s := open(t, t.TempDir(), clock)
	const seconds = 2 * 24 * 3600
	samples := make([]history.Sample, seconds)
	sum := 0.0
	for i := range samples {
		samples[i] = good(clock.Now().Wall, 20+float64(i%10)/100)
		clock.pass(time.Second)
	}
	samples[50_000].Raw = 35.5
	samples[120_001].Raw = 4.25
	samples[80_000].Raw, samples[80_000].Grade, samples[80_000].Reason = 99, sensors.Suspect, sensors.Jump
	for i := range samples {
		if samples[i].Grade == sensors.Good {
			sum += samples[i].Raw
		}
	}
	require.NoError(t, s.Append(t.Context(), history.Batch{Samples: samples}))
	s.Settle(t.Context())
	for _, points := range []int{1, 7, 100, 191, 192, 1000, 5000} {
		series, err := s.Series(t.Context(), history.SeriesQuery{Channel: "tray", From: evening(), To: clock.Now().Wall, Points: points})
		require.NoError(t, err)
		require.NotEmpty(t, series.Columns)
		require.LessOrEqual(t, len(series.Columns), points+1)
		low, high, total, good, bad := math.Inf(1), math.Inf(-1), 0.0, uint32(0), uint32(0)
		covered := time.Duration(0)
		for _, c := range series.Columns {
			low, high = min(low, c.Min), max(high, c.Max)
			total += c.Mean * float64(c.Good)
			good, bad, covered = good+c.Good, bad+c.Bad, covered+c.Covered
		}
		require.Equal(t, 35.5, high, "%d points", points)
		require.Equal(t, 4.25, low, "%d points", points)
		require.EqualValues(t, seconds-1, good)
		require.EqualValues(t, 1, bad)
		require.InDelta(t, sum, total, 1e-3)
		require.InDelta(t, seconds-1, covered.Seconds(), 2, "%d points", points)
		require.Empty(t, series.Gaps)
	}
}

func TestTheClockMayBeSetBackAndNothingIsLost(t *testing.T) {
	clock := newHandClock(evening())
	s := open(t, t.TempDir(), clock)
	first := fill(t, s, clock, 2000)
	s.Settle(t.Context())
	clock.set(evening().Add(300 * time.Millisecond))
	second := fill(t, s, clock, 2000)
	s.Settle(t.Context())
	clock.set(evening().AddDate(-56, -9, -14))
	third := fill(t, s, clock, 2000)
	clock.set(evening().AddDate(1, 0, 0))
	s.Settle(t.Context())
	stored := all(t, s, time.UnixMilli(0).AddDate(-2, 0, 0), clock.Now().Wall)
	require.Len(t, stored, 6000)
	require.ElementsMatch(t, append(append(first, second...), third...), stored)
	for i := 1; i < len(stored); i++ {
		require.False(t, stored[i].At.Before(stored[i-1].At))
	}
}
