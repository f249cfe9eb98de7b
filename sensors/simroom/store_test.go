package simroom

import (
	"math"
	"testing"
	"time"

	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"
)

// Textbook one-zone formula: C(t) = Cb + G/Q + (C0 - Cb - G/Q)·exp(-Qt/V).
func TestOneZoneFollowsTheTextbook(t *testing.T) {
	const volume, flow, source = 30, 300.0 / 3600, 1000.0 / 3600 // m³, m³/s, mg/s
	zone := store{volume, 0}
	zone.step(15*time.Minute, source, link{flow, 0})
	require.InDelta(t, 3.060, zone.level, 0.001)
	zone.step(10*time.Hour, source, link{flow, 0})
	require.InDelta(t, 3.333, zone.level, 0.001, "steady state G/Q")
}

// Decay of 1500 ppm above 420 ppm at 10 air changes an hour, by the same formula.
func TestOneZoneDecays(t *testing.T) {
	zone := store{30, 1920}
	for _, want := range []float64{1329.8, 971.8, 754.7, 623.0, 543.1} {
		zone.step(3*time.Minute, 0, link{300.0 / 3600, 420})
		require.InDelta(t, want, zone.level, 0.05)
	}
}

// Times of removal without a source, perfect mixing: CDC, "Guidelines for
// Environmental Infection Control in Health-Care Facilities" (2003), table B.1,
// and CDC, MMWR 43 RR-13 (1994), table S3-1; both in whole minutes.
func TestOneZoneClearsAsPublished(t *testing.T) {
	for _, c := range []struct{ changes, removed, minutes float64 }{
		{2, 0.99, 138}, {2, 0.999, 207}, {6, 0.90, 23}, {6, 0.99, 46}, {6, 0.999, 69},
		{12, 0.99, 23}, {12, 0.999, 35}, {50, 0.90, 3}, {50, 0.99, 6}, {50, 0.999, 8},
	} {
		left := func(minutes float64) float64 {
			zone := store{30, 1}
			zone.step(time.Duration(minutes*float64(time.Minute)), 0, link{30 * c.changes / 3600, 0})
			return zone.level
		}
		require.GreaterOrEqual(t, left(c.minutes-0.5), 1-c.removed)
		require.LessOrEqual(t, left(c.minutes+0.5), 1-c.removed)
	}
}

// The rate per person is from memory of ASTM D6245; 693 ppm is arithmetic on it.
func TestPeopleRaiseCarbonDioxideBySourceOverFlow(t *testing.T) {
	const people = 8
	zone := store{roomVolume, corridorCO2}
	zone.step(24*time.Hour, people*personCO2, link{people * 7.5e-3, corridorCO2})
	require.InDelta(t, 693, zone.level-corridorCO2, 1)
}

func TestAStepMayBeCutAnywhere(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		level := rapid.Float64Range(-50, 50)
		rate := rapid.Float64Range(0, 10)
		whole := store{rapid.Float64Range(0.1, 1e5).Draw(t, "size"), level.Draw(t, "level")}
		cut := whole
		links := []link{{rate.Draw(t, "rate"), level.Draw(t, "one side")}, {rate.Draw(t, "rate"), level.Draw(t, "other side")}}
		source := rapid.Float64Range(-5, 5).Draw(t, "source")
		parts := rapid.SliceOfN(rapid.IntRange(0, 10_000), 1, 6).Draw(t, "parts in seconds")
		var all time.Duration
		for _, p := range parts {
			cut.step(time.Duration(p)*time.Second, source, links...)
			all += time.Duration(p) * time.Second
		}
		whole.step(all, source, links...)
		require.InEpsilon(t, 1000+whole.level, 1000+cut.level, 1e-9)
	})
}

func TestNothingIsLostBetweenStoreAndSurroundings(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		zone := store{rapid.Float64Range(10, 100).Draw(t, "size"), rapid.Float64Range(0, 50).Draw(t, "level")}
		air := link{rapid.Float64Range(0, 0.1).Draw(t, "rate"), rapid.Float64Range(0, 50).Draw(t, "outside")}
		source := rapid.Float64Range(0, 1).Draw(t, "source")
		before, came := zone.level, 0.0
		for range 600 { // the trapezoidal rule over a second is good to far below the tolerance
			was := zone.level
			zone.step(time.Second, source, air)
			came += source + air.rate*(air.level-(was+zone.level)/2)
		}
		require.InDelta(t, came, zone.size*(zone.level-before), 1e-2)
	})
}

func TestWithoutASourceALevelStaysBetweenItsSurroundings(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		level := rapid.Float64Range(-40, 60)
		a, b := level.Draw(t, "inside"), level.Draw(t, "outside")
		s := store{rapid.Float64Range(0.1, 1e6).Draw(t, "size"), a}
		s.step(time.Duration(rapid.Int64Range(0, 1e15).Draw(t, "dt")), 0, link{rapid.Float64Range(0, 100).Draw(t, "rate"), b})
		require.GreaterOrEqual(t, s.level, min(a, b)-1e-9)
		require.LessOrEqual(t, s.level, max(a, b)+1e-9)
	})
}

func TestTradeConservesAndEvensOut(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		size, level := rapid.Float64Range(1, 1e5), rapid.Float64Range(-10, 90)
		a, b := store{size.Draw(t, "a"), level.Draw(t, "of a")}, store{size.Draw(t, "b"), level.Draw(t, "of b")}
		held, gap := a.size*a.level+b.size*b.level, a.level-b.level
		trade(&a, &b, rapid.Float64Range(0, 100).Draw(t, "rate"), time.Minute)
		require.InDelta(t, held, a.size*a.level+b.size*b.level, 1e-6*(1+math.Abs(held)))
		require.LessOrEqual(t, math.Abs(a.level-b.level), math.Abs(gap)+1e-9)
		trade(&a, &b, 100, 1000*time.Hour)
		require.InDelta(t, a.level, b.level, 1e-6)
	})
}
