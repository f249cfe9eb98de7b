package truth

import (
	"math"
	"math/rand/v2"
	"testing"

	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"wetside/sensors"
)

const until = 560 // the slot before which the hour lies that a change is compared with

// Changes of a value that wanders, reckoned here from its levels, one pair of two minutes after the other.
func TestWhatChangesAreUsualIsTheirRootMeanSquare(t *testing.T) {
	const lag = 18
	dice, at := rand.New(rand.NewPCG(5, 5)), 20.0
	x := tracked(t, sensors.WaterTemperature, 210, until, func(int64) float64 { at += 0.05 * dice.NormFloat64(); return at })
	means, lines, number := 0.0, 0.0, 0.0
	for n := int64(until - 312); n <= until-lag-12; n += 6 {
		a, b := x.level(n), x.level(n+lag)
		half := (a.slope + b.slope) / 2
		means, lines, number = means+math.Pow(b.mean-a.mean, 2), lines+math.Pow(b.mean-a.mean-half*lag, 2), number+1
	}
	usual, known := x.usualChanges(until, lag)
	require.True(t, known)
	require.InEpsilon(t, math.Sqrt(means/number), usual.ofMeans, 1e-9)
	require.InEpsilon(t, math.Sqrt(lines/number), usual.ofLines, 1e-9)
}

// A fan was started: what its probe did before is not what is usual now, and enough has to be seen since.
func TestWhatIsUsualBeginsAnewWithAFan(t *testing.T) {
	const lag = 30
	started := func(at int64) *track {
		return tracked(t, sensors.DuctVelocity, 210, until, func(n int64) float64 {
			if n < at {
				return 1
			}
			return 4 + 0.1*float64(n%2)
		})
	}
	size, most, known := started(400).usualBrief(until, lag)
	require.True(t, known)
	require.Less(t, most, 0.1)
	require.Less(t, size, 0.1)
	usual, known := started(400).usualChanges(until, lag)
	require.True(t, known)
	require.Less(t, usual.ofMeans, 0.2)
	require.Less(t, usual.ofLines, 1.0, "the minutes of the start are partly in it")
	for at, enough := range map[int64]bool{471: true, 472: false} {
		_, _, known := started(at).usualBrief(until, lag)
		require.Equal(t, enough, known, at)
	}
	for at, enough := range map[int64]bool{467: true, 468: false} {
		_, known := started(at).usualChanges(until, lag)
		require.Equal(t, enough, known, at)
	}
}

func TestAPlaceMovesOnWhereItGoesNearlyAsFarAgain(t *testing.T) {
	for name, c := range map[string]struct {
		moved, after, wanders float64
		on                    bool
	}{
		"as far": {2, 2, 0, true}, "nearly": {2, 1.21, 0, true}, "half": {2, 1, 0, false}, "back": {2, -1.6, 0, false},
		"down": {-2, -1.4, 0, true}, "down and back": {-2, 1.4, 0, false}, "it wanders as far anyway": {2, 1.4, 0.8, false},
		"it wanders by less": {2, 1.4, 0.6, true},
	} {
		x := tracked(t, sensors.WaterTemperature, 210, until+lastSlots+briefSlots, func(n int64) float64 {
			if n >= until+lastSlots {
				return 20 + c.after
			}
			return 20 + c.wanders*float64((until+2-n)/lastSlots%2)
		})
		require.Equal(t, c.on, x.movesOn(change{moved: c.moved}, until, until), name)
		require.False(t, x.movesOn(change{moved: c.moved}, until, until+1), "%s: too early to tell", name)
	}
}

func TestTheAirHasChangedWhereAnotherOfItsSignsMoved(t *testing.T) {
	const pulled, back = 500, 515
	for name, c := range map[string]struct {
		kind    sensors.Kind
		before  float64
		after   float64
		changed bool
	}{
		"three quarters of a step": {sensors.RoomPressure, -8, -5, false}, "and more": {sensors.RoomPressure, -8, -4.9, true},
		"the fan was switched on": {sensors.FanCommand, 0, 1, true}, "it runs": {sensors.FanCommand, 1, 1, false},
		"it stands":        {sensors.RoomPressure, -8, -8, false},
		"the air warms up": {sensors.AirTemperature, 20, 22, false}, "a bath was warmed": {sensors.BathTemperature, 20, 22, false},
	} {
		duct := tracked(t, sensors.DuctVelocity, 210, until, func(n int64) float64 { return 4 + float64(n/pulled) })
		other := tracked(t, c.kind, 210, until, func(n int64) float64 {
			if n < pulled+6 {
				return c.before
			}
			return c.after
		})
		other.live.step = 4 // a quarter of it counts as usual
		require.Equal(t, c.changed, heldBy(duct, other).otherMoved(duct, pulled-quietSlots, back), name)
	}
}

// Whatever the course, a straight one is not off its line, and a step in it is off by its size.
func TestAStepIsOffTheLineOnBothItsSidesByItsSize(t *testing.T) {
	rapid.Check(t, func(r *rapid.T) {
		slope, step := rapid.Float64Range(-50, 50).Draw(r, "slope"), rapid.Float64Range(-300, 300).Draw(r, "step")
		lag := rapid.Int64Range(briefSlots, longestPlug).Draw(r, "lag")
		x := tracked(t, sensors.CarbonDioxide, 500, 600, func(n int64) float64 {
			v := 800 + slope*float64(n-550)
			if n >= 550+lag {
				v += step
			}
			return v
		})
		off, known := x.offLine(550, 550+lag)
		require.True(t, known)
		require.InDelta(t, step, off, 1e-6)
	})
	gap := tracked(t, sensors.CarbonDioxide, 548, 600, flatAt(800))
	_, known := gap.offLine(550, 560)
	require.False(t, known, "half a minute before was not seen whole")
}

// Two lines that meet where the plug was out are a change of the place, such as a fan that was started: no gap is between them.
func TestAnotherCourseFromThePlugOnIsNoStep(t *testing.T) {
	rapid.Check(t, func(r *rapid.T) {
		before, after := rapid.Float64Range(-50, 50).Draw(r, "before"), rapid.Float64Range(-50, 50).Draw(r, "after")
		const lag, meet = 8, 555 // the middle between the middles of both stretches
		x := tracked(t, sensors.CarbonDioxide, 500, 600, func(n int64) float64 {
			return 800 + before*float64(min(0, n-meet)) + after*float64(max(0, n-meet))
		})
		off, known := x.offLine(550, 550+lag)
		require.True(t, known)
		require.InDelta(t, 0, off, 1e-6)
	})
}

// Beside a course that goes to and fro by 0.2, in steps of 0.1: a quarter more than ever, and a quarter of a step, is off its line.
func TestAStepIsOffItsLineFromAQuarterMoreThanEver(t *testing.T) {
	const lag, settled = 8, until - 2*lastSlots
	for beyond, off := range map[float64]bool{-0.01: false, 0.01: true} {
		by := 0.0
		course := func(n int64) float64 {
			if n >= until+lag {
				return 20 + by
			}
			return 20 + 0.2*float64((settled-min(n, settled))/lag%2)
		}
		x := tracked(t, sensors.CarbonDioxide, 260, until+60, course)
		_, most, known := x.usualOf(x.offLine, until, lag)
		require.True(t, known)
		by = beyondMost*most + stepShare*0.1 + beyond
		x = tracked(t, sensors.CarbonDioxide, 260, until+60, course)
		x.live.step, x.channel.Resolution = 0.1, 0.1
		size, _, _ := x.usualOf(x.offLine, until, lag)
		c := x.offItsLine(until, until+lag)
		require.Equal(t, off, c.times > 0, "%v beyond %v", beyond, by)
		for _, missing := range []int64{until - lastSlots, until + 1, until + lag + againSlots, until - keptSlots/2} {
			unheard := *x
			unheard.slots[missing%keptSlots] = slot{}
			require.Equal(t, off && missing == until-keptSlots/2, unheard.offItsLine(until, until+lag).times > 0,
				"nothing was heard at %d: the stretches that are compared have to be whole", missing)
		}
		require.Zero(t, tracked(t, sensors.CarbonDioxide, until-50, until+60, course).offItsLine(until, until+lag), "too little was heard before")
		if off {
			require.InDelta(t, by/size, c.times, 1e-6)
			require.InDelta(t, by, c.moved, 1e-9)
		}
	}
}

// A quarter of a change has to have come in the twenty seconds before the plug was pulled, or after it was back, the same way and
// farther than ever in the hour before.
func TestAChangeCreptWhereAPartOfItCameBesideThePlug(t *testing.T) {
	const pulled, back = 500, 505
	for name, c := range map[string]struct {
		before, after, wanders float64
		crept                  bool
	}{
		"whole at the plug": {0, 0, 0, false}, "a fifth of it before": {0.28, 0, 0, false}, "more of it before": {0.4, 0, 0, true},
		"as much the other way": {-0.4, 0, 0, false}, "a fifth of it after": {0, 0.28, 0, false}, "more of it after": {0, 0.4, 0, true},
		"back again": {0, -0.4, 0, false}, "it goes to and fro by as much": {0.4, 0, 0.35, false}, "by less": {0.4, 0, 0.3, true},
	} {
		x := tracked(t, sensors.WaterTemperature, 160, 560, func(n int64) float64 {
			switch v := 20 + c.wanders*float64((pulled-2-min(n, pulled-2))/2%2); {
			case n > back:
				return 21.4
			case n == back:
				return 21.4 - c.after
			case n == pulled:
				return v + c.before
			default:
				return v
			}
		})
		x.unplugged, x.plugged = pulled, back
		require.Equal(t, c.crept, x.crept(change{moved: 1.4}), name)
	}
}
