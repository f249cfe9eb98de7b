package truth

import (
	"math"
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"wetside/sensors"
	"wetside/sensors/quantity"
)

// Quantiles of chi square by their degrees of freedom, of which successive differences of n readings have 2n/3: NIST/SEMATECH
// e-Handbook of Statistical Methods, section 1.3.6.7.4, lower tail (from memory). The approximation is good to 8 per cent
// at a chance of one in a hundred, and to one per cent at more.
func TestTheChanceThatNoiseFallsIsThatOfChiSquare(t *testing.T) {
	for _, c := range []struct {
		n                 int
		freedom, quantile float64
		chance            float64
	}{
		{15, 10, 2.558, 0.01}, {15, 10, 3.940, 0.05}, {15, 10, 4.865, 0.10}, {30, 20, 8.260, 0.01}, {30, 20, 10.851, 0.05},
		{45, 30, 14.953, 0.01}, {45, 30, 18.493, 0.05}, {150, 100, 70.065, 0.01}, {150, 100, 77.929, 0.05},
	} {
		off := map[bool]float64{true: 0.08, false: 0.008}[c.chance <= 0.01]
		require.InEpsilon(t, c.chance, fallChance(c.quantile/c.freedom, c.n), off, "%+v", c)
	}
}

// The largest of n exponential times is M; the mean of exp(-4 M) is 1 over n+4 choose 4 (a beta integral).
func TestTheChanceOfAStandFourTimesAsLongAsTheLongest(t *testing.T) {
	for turning, choose := range map[int]float64{1: 5, 4: 70, 12: 1820, 20: 10626} {
		require.InEpsilon(t, 1/choose, usual{turning: turning}.longerChance(), 1e-12, turning)
	}
}

// Two levels scatter by 0.2 K each: exp((0.2² - 0.6²) / (2·0.2²)) is exp(-4).
func TestOddsAreThoseOfTwoNormalMisses(t *testing.T) {
	require.InEpsilon(t, math.Exp(-4), normalOdds(0.2, 0.6), 1e-12)
	require.InEpsilon(t, math.Exp(-4.5), normalOdds(0, -0.6), 1e-12)
	require.InEpsilon(t, 1, normalOdds(0.3, 0.3), 1e-12)
	for against, stated := range map[float64]float64{-1: 0.99, 0: 0.99, 0.01: 0.99, 0.25: 0.8, 1: 0.5, 3: 0.25} {
		require.InEpsilon(t, stated, certain(against), 1e-12, against)
	}
	require.Equal(t, 91, Finding{Confidence: 0.906}.Percent())
}

// tracked is a channel of a kind whose every slot between two holds a value.
func tracked(t *testing.T, kind sensors.Kind, from, to int64, value func(n int64) float64) *track {
	traits, known := kind.Traits()
	require.True(t, known)
	unit, err := quantity.BaseUnit(traits.Dimension)
	require.NoError(t, err)
	c := &track{channel: sensors.Channel{ID: sensors.ChannelID(kind), Name: string(kind), Kind: kind, Unit: unit, Traits: traits}}
	for n := from; n < to; n++ {
		c.slots[n%keptSlots] = slot{n, 2 * value(n), 2}
	}
	c.live.step = 0.01
	return c
}

func flatAt(v float64) func(int64) float64 { return func(int64) float64 { return v } }

func TestASlotIsTheMeanOfItsReadingsForAnHour(t *testing.T) {
	c := tracked(t, sensors.BathTemperature, 1000, 1360, func(n int64) float64 { return float64(n) })
	for n, filled := range map[int64]bool{999: false, 1000: true, 1359: true, 1360: false, -1: false} {
		v, known := c.slotAt(n)
		require.Equal(t, filled, known, n)
		if known {
			require.InDelta(t, float64(n), v, 1e-12)
		}
	}
	c.slots[1100%keptSlots] = slot{1100, 1100, 1}
	mean, known := c.briefly(1100)
	require.True(t, known)
	require.InDelta(t, 1101, mean, 1e-9)
	_, known = c.briefly(1358)
	require.False(t, known, "all three have to be there")
	moved, known := c.briefMove(1100, 1130)
	require.True(t, known)
	require.InDelta(t, 30, moved, 1e-9)
	_, known = c.briefMove(998, 1130)
	require.False(t, known)
}

// Twelve slots, of which nine have to be there; a level is quiet where it neither scatters nor climbs.
func TestALevelIsALineThroughTwoMinutes(t *testing.T) {
	line := func(slope, zigzag float64) func(int64) float64 {
		return func(n int64) float64 { return 20 + slope*float64(n-100) + zigzag*float64(1-2*(n%2)) }
	}
	for _, c := range []struct {
		slope, zigzag  float64
		quiet, settles bool
	}{
		{0, 0, true, false}, {0.0124, 0, true, false}, {-0.0124, 0, true, true}, {0.0126, 0, false, false}, {-0.0126, 0, false, true},
		{0, 0.113, true, false}, {0, 0.117, false, false}, {-0.04, 0, false, false},
	} {
		l := tracked(t, sensors.BathTemperature, 100, 112, line(c.slope, c.zigzag)).level(100)
		require.True(t, l.known)
		require.InDelta(t, 20+5.5*c.slope, l.mean, 1e-9)
		if c.zigzag == 0 {
			require.InDelta(t, c.slope, l.slope, 1e-9)
			require.Equal(t, c.settles, l.settles, "%+v", c)
		}
		require.Equal(t, c.quiet, l.quiet, "%+v", c)
	}
	for filled, known := range map[int64]bool{8: false, 9: true} {
		require.Equal(t, known, tracked(t, sensors.BathTemperature, 100, 100+filled, flatAt(20)).level(100).known, filled)
	}
	bath, air := tracked(t, sensors.BathTemperature, 100, 112, line(0.05, 0)), tracked(t, sensors.AirTemperature, 100, 112, line(0.03, 0))
	require.InDelta(t, 0.02, bath.apart(air, 100).slope, 1e-9, "the level of a difference")
	air.slots[104%keptSlots] = slot{}
	require.InDelta(t, 0.11+0.02*(5.5*12-4)/11-0.11, bath.apart(air, 100).mean, 1e-9, "where one is missing the other says nothing")
}

// A drift of 0.02 K a slot is no quiet one. Over the 24 slots to the level after it makes 0.48 K: five times that is a step beside it.
func TestAStepIsOneBesideWhatDriftedBefore(t *testing.T) {
	before := level{mean: 20, slope: 0.02, known: true}
	for moved, calm := range map[float64]bool{2.41: true, -2.41: true, 2.39: false, -2.39: false} {
		require.Equal(t, calm, edge{before: before, after: level{mean: 20 + moved, known: true}}.calm(), moved)
	}
	require.False(t, edge{before: level{mean: 20}, after: level{mean: 30, known: true}}.calm(), "nothing was known before")
	require.True(t, edge{before: level{mean: 20, quiet: true, known: true}, after: level{mean: 20.1, known: true}}.calm())
	require.False(t, edge{before: level{quiet: true}}.quiet())
	require.False(t, edge{after: level{quiet: true}}.quiet())
}

// Lines that go on as they went have no gap between them; half-way is where they are compared.
func TestTheGapBetweenTwoLinesLeavesOutTheirDrift(t *testing.T) {
	require.InDelta(t, 0, gap(level{mean: 20, slope: 0.1}, level{mean: 21.5, slope: 0.1}, 15), 1e-12)
	require.InDelta(t, 1.2, gap(level{mean: 20, slope: 0.1}, level{mean: 22.7, slope: 0.1}, 15), 1e-12)
	require.InDelta(t, -0.5, gap(level{mean: 20, slope: 0.1}, level{mean: 21, slope: 0.2}, 10), 1e-12)
	require.InDelta(t, 0.1, sure(-0.3, 0.1), 1e-12, "beyond two standard errors")
	require.Zero(t, sure(0.3, 0.16))
}

// Half a kelvin a step: two of them within a minute, or down within three.
func TestACoarseProbeIsHurriedWhereItCrossedTwoStepsInAMinute(t *testing.T) {
	for _, c := range []struct {
		at, takes int64
		by        float64
		hurried   bool
	}{
		{130, 1, 1, true}, {130, 1, -1, true}, {130, 1, 0.89, false}, {130, 5, 1, true}, {130, 12, 1, false},
		{130, 12, -1, true}, {130, 24, -1, false}, {120, 1, 1, true},
		{113, 1, 1, false},
		{140, 1, 1, true}, {141, 1, 1, false},
	} {
		x := tracked(t, sensors.BathTemperature, 100, 160, func(n int64) float64 {
			return 20 + c.by*float64(min(max(n-c.at, 0), c.takes))/float64(c.takes)
		})
		x.live.step = 0.5
		require.Equal(t, c.hurried, x.hurried(120, 141), "%+v", c)
	}
}

// Three steps of the probe, of 1 here, are the least by which its value is seen at all.
func TestASignOfTheAirTurnsWhereItFallsToAThirdOrRisesFromIt(t *testing.T) {
	for _, c := range []struct {
		kind          sensors.Kind
		before, after float64
		turned        int
	}{
		{sensors.DuctVelocity, 4, 1.1, -1}, {sensors.DuctVelocity, 4, 1.2, 0}, {sensors.DuctVelocity, 1.1, 4, 1},
		{sensors.DuctVelocity, 1.2, 4, 0},
		{sensors.RoomPressure, -8, -2, -1}, {sensors.RoomPressure, -2, -8, 1}, {sensors.RoomPressure, -8, -8, 0},
		{sensors.RoomPressure, -2.9, 0, 0}, {sensors.RoomPressure, -3, 0, -1}, {sensors.RoomPressure, 0, -2.9, 0},
		{sensors.RoomPressure, 0, -3, 1},
		{sensors.FanCommand, 1, 0, -1}, {sensors.FanCommand, 0, 1, 1}, {sensors.FanCommand, 1, 1, 0}, {sensors.FanCommand, 0, 0, 0},
		{sensors.BathTemperature, 20, 1, 0}, {sensors.CarbonDioxide, 900, 100, 0},
	} {
		x := tracked(t, c.kind, 100, 140, func(n int64) float64 {
			if n < 120 {
				return c.before
			}
			return c.after
		})
		x.channel.Resolution = 1
		require.Equal(t, c.turned, x.turned(110, 130), "%+v", c)
		require.Zero(t, x.turned(90, 130), "%+v: nothing was read before", c)
		require.Zero(t, x.turned(110, 150), "%+v: nothing was read after", c)
	}
}

// Where no air moves, no gas is or a thermometer is in another liquid, the noise of the last hour is no measure.
func TestAValueRestsWhereItsPlaceMakesNoNoise(t *testing.T) {
	u := usual{level: 20, typical: 20}
	for _, c := range []struct {
		kind  sensors.Kind
		value float64
		rests bool
	}{
		{sensors.BathTemperature, 21.5, false}, {sensors.BathTemperature, 21.6, true}, {sensors.BathTemperature, 18.4, true},
		{sensors.RelativeHumidity, 40, false}, {sensors.DuctVelocity, 15.9, true}, {sensors.DuctVelocity, 16, false},
		{sensors.SulfurDioxide, 0, true}, {sensors.SulfurDioxide, 9.9, true}, {sensors.SulfurDioxide, 10, false},
	} {
		require.Equal(t, c.rests, tracked(t, c.kind, 0, 0, nil).resting(u, c.value), "%+v", c)
	}
	require.True(t, tracked(t, sensors.DuctVelocity, 0, 0, nil).resting(usual{}, 1), "it always rested")
	require.True(t, tracked(t, sensors.SulfurDioxide, 0, 0, nil).resting(usual{typical: -0.02}, 0), "a cell is cut off at zero")
}

// What counts as shaken by the air itself is a change by a fifth and more.
func TestAirIsRestlessWhereItsValueChangedByAFifth(t *testing.T) {
	duct := tracked(t, sensors.DuctVelocity, 0, 0, nil)
	for after, restless := range map[float64]bool{8.1: false, 8: true, 12.4: false, 12.5: true, -10: true, 0: true} {
		require.Equal(t, restless, duct.restless(change{before: 10, after: after}), after)
	}
	require.False(t, tracked(t, sensors.CarbonDioxide, 0, 0, nil).restless(change{before: 10, after: 20}))
}

func TestBlocksSumUpNoiseAndSwings(t *testing.T) {
	b := block{readings: 50, turns: 10, sum: 1000, squares: 4}
	require.InDelta(t, 20, b.mean(), 1e-12)
	require.InDelta(t, 0.04, b.noise(), 1e-12, "half of the mean square of the differences")
	require.InDelta(t, 0.2, b.swings(), 1e-12)
	require.InDelta(t, 0.4, usual{swings: b.swings()}.leaves(), 1e-12)
	require.InDelta(t, 0.9, usual{swings: 0.5}.leaves(), 1e-12)
	for _, c := range []struct {
		turning int
		longest time.Duration
		stands  time.Duration
	}{{12, time.Minute, 4 * time.Minute}, {11, time.Minute, never}, {20, 3 * time.Minute, 12 * time.Minute}, {20, 3*time.Minute + 1, never}} {
		require.Equal(t, c.stands, usual{turning: c.turning, longest: c.longest}.stands(), "%+v", c)
	}
}

// said is a liveness that takes a value a beat.
func said(beat time.Duration, values ...float64) *liveness {
	l := &liveness{}
	for i, v := range values {
		l.take(&sensors.Reading{Raw: v, At: sensors.Instant{Mono: time.Duration(i) * beat}}, 15*time.Second)
	}
	return l
}

func TestASwingTurnsByTwoStepsAndBack(t *testing.T) {
	for _, c := range []struct {
		values []float64
		turns  int
	}{
		{[]float64{4, 4.01, 4, 4.01, 4, 4.01}, 0}, {[]float64{4, 4.01, 4.02, 4, 4.02, 4}, 4}, {[]float64{4, 4, 4}, 0},
		{[]float64{4, 4.01, 4.02, 4.03, 4.04}, 1}, {[]float64{4.04, 4.03, 4.02, 4.01, 4.03, 4.01}, 2},
	} {
		l := said(time.Second, c.values...)
		require.Equal(t, c.turns, l.now.turns, "%v", c.values)
	}
	l := said(10*time.Second, 4, 4, 4, 4.5, 4.25, 4.25)
	require.InDelta(t, 0.25, l.step, 1e-12)
	require.Equal(t, 10*time.Second, l.stood())
	require.InDelta(t, 4.5, l.before, 1e-12)
	require.Equal(t, 1, l.run)
	require.Equal(t, 4, l.now.readings)
	require.InDelta(t, 16.5, l.now.sum, 1e-12)
	require.InDelta(t, 0.3125, l.now.squares, 1e-12)
	require.Equal(t, 20*time.Second, l.now.longest)
	b := l.soFar()
	require.Equal(t, 6, b.readings)
	require.InDelta(t, 25, b.sum, 1e-12)
}

// A channel that was silent begins anew; a plug makes a pause of four seconds at least that is four times as long as usual.
func TestAPauseIsToldFromAPlug(t *testing.T) {
	after := func(l *liveness, pause time.Duration) sensors.Instant {
		return sensors.Instant{Mono: l.last.Mono + pause}
	}
	l := said(15*time.Second, 4, 4, 4)
	require.Equal(t, 2, l.run, "as long as it may be silent")
	l.take(&sensors.Reading{Raw: 4, At: after(l, 15*time.Second+1)}, 15*time.Second)
	require.Zero(t, l.run, "longer")
	require.Zero(t, l.now.readings)
	for beat, least := range map[time.Duration]time.Duration{time.Second / 2: 4 * time.Second, 2 * time.Second: 8*time.Second + 1} {
		var values []float64
		for i := range 400 {
			values = append(values, float64(i%2))
		}
		l := said(beat, values...)
		require.NotZero(t, l.kept)
		require.True(t, l.paused(after(l, least)), beat)
		require.False(t, l.paused(after(l, least-1)), beat)
	}
	require.False(t, said(time.Second, 4, 5).paused(sensors.Instant{Mono: time.Hour}), "nothing is usual yet")
}

// A block lasts three minutes, and holds thirty readings.
func TestABlockClosesOnceItHasItsTimeAndItsReadings(t *testing.T) {
	for _, c := range []struct {
		beat         time.Duration
		number, kept int
	}{{time.Second, 180, 0}, {time.Second, 181, 1}, {10 * time.Second, 30, 0}, {10 * time.Second, 31, 1}} {
		l := &liveness{}
		for i := range c.number {
			l.take(&sensors.Reading{Raw: float64(i % 2), At: sensors.Instant{Mono: time.Duration(i) * c.beat}}, time.Minute)
		}
		require.Equal(t, c.kept, l.kept, "%+v", c)
	}
}

// Twenty blocks of which the i-th has a noise of i: the fourth part of a fifth is quieter than the fifth one.
func TestTheQuietestIsWhatSoManyReadingsAreNoLivelierThan(t *testing.T) {
	l := &liveness{kept: keptBlocks}
	for i := range keptBlocks {
		l.blocks[(7*i)%keptBlocks] = block{readings: 100, squares: float64(200 * (i + 1))}
	}
	for readings, noise := range map[int]float64{0: 1, 99: 1, 100: 2, 400: 5, 1999: 20, 2000: 0} {
		require.InDelta(t, noise, l.quiet(block.noise, readings), 1e-12, readings)
	}
	first := l.blocks
	l.quiet(block.noise, 100)
	require.Equal(t, first, l.blocks, "the order of the hour stays")
}

func TestWhatWasDoneToABathBelongsToItForItsTime(t *testing.T) {
	w := NewWatch([]sensors.Channel{{ID: "DEV"}, {ID: "STP"}})
	at := func(n int64) sensors.Instant { return sensors.Instant{Mono: time.Duration(n) * slotWidth} }
	w.Done("nowhere", at(99))
	w.Done("DEV", at(100))
	require.True(t, w.acted("DEV", 100, 110))
	require.True(t, w.acted("DEV", 90, 100))
	require.False(t, w.acted("DEV", 101, 110))
	require.False(t, w.acted("DEV", 90, 99))
	require.False(t, w.acted("STP", 90, 110))
	w.Done("STP", at(100+keptSlots))
	require.True(t, w.acted("DEV", 100, 100), "for an hour")
	w.Done("STP", at(101+keptSlots))
	require.False(t, w.acted("DEV", 100, 100))
	require.Len(t, w.acts, 2)
}

// Three of twenty blocks are still: of a duct one in five has to be, of a bath, which is rocked, one in twenty.
func TestABathIsJudgedByItsStillestMinutes(t *testing.T) {
	for kind, noise := range map[sensors.Kind]float64{sensors.BathTemperature: 1, sensors.DuctVelocity: 100} {
		c := tracked(t, kind, 0, 0, nil)
		c.live.kept = keptBlocks
		for i := range keptBlocks {
			c.live.blocks[i] = block{readings: 100, turns: i, sum: float64(100 * (7 * i % 20)), squares: 200}
			if i >= 3 {
				c.live.blocks[i].squares = 20000
			}
			c.live.blocks[i].longest = time.Duration(i) * time.Second
		}
		u, known := c.usual()
		require.True(t, known)
		require.InDelta(t, noise, u.noise, 1e-12, kind)
		require.InDelta(t, (19+6+13)/3.0, u.level, 1e-12, "the mean of the last three")
		require.InDelta(t, 10, u.typical, 1e-12)
		require.InDelta(t, 0.095, u.all, 1e-12)
		require.Equal(t, 2000, u.readings)
		require.Equal(t, 19, u.turning)
		require.Equal(t, 19*time.Second, u.longest)
		c.live.kept = leastBlocks
		_, known = c.usual()
		require.True(t, known)
		c.live.kept--
		_, known = c.usual()
		require.False(t, known)
	}
}

// A probe at 4 m/s that scatters by 0.02 is stuck beyond 2 + 20·0.02 m/s away, and flat before.
func TestAFlatValueIsStuckWhereItLeaptFarOff(t *testing.T) {
	u := usual{level: 4, typical: 4, noise: 0.0004, swings: 0.25, readings: 3000}
	for raw, what := range map[float64]FindingKind{6.39: FlatLine, 6.41: EndStop, 4: FlatLine, 1.59: ""} {
		c := tracked(t, sensors.DuctVelocity, 0, 0, nil)
		c.live.raw, c.live.before, c.live.run, c.live.kept = raw, 4, 200, 1
		c.live.blocks[0] = block{readings: 180, lasted: 3 * time.Minute}
		c.live.last = sensors.Instant{Mono: 200 * time.Second}
		f, found := heldBy(c).flat(c, u)
		require.Equal(t, what != "", found, raw)
		require.Equal(t, what, f.What, raw)
	}
}

// What a gate doubts for a unit, a start of the probe or its being out of service says nothing of how the probe lives.
func TestReadingsThatAreNoneOfTheProbesPlaceDoNotCount(t *testing.T) {
	for reason, counts := range map[sensors.Reason]bool{sensors.UnitMismatch: false, sensors.PowerOn: false, sensors.OutOfService: false,
		sensors.LooksWrong: true} {
		w := NewWatch([]sensors.Channel{{ID: "DEV"}})
		w.Take(sensors.Reading{Channel: "DEV", Raw: 20, Value: 20, Grade: sensors.Suspect, Reason: reason})
		require.Equal(t, counts, w.tracks["DEV"].live.begun, reason)
		_, known := w.tracks["DEV"].slotAt(0)
		require.False(t, known, "its mean is of good readings")
		w.Take(sensors.Reading{Channel: "DEV", Grade: sensors.Missing})
		require.Equal(t, counts, w.tracks["DEV"].live.begun, reason)
	}
}

// In steps of 0.5 m/s: 4 m/s are eight steps from rest; where it rests, and went up to 6 m/s in the hour before, twelve are missing.
func TestByHowManyStepsAStandingValueIsOff(t *testing.T) {
	for _, c := range []struct {
		stands  float64
		stopped bool
		steps   float64
	}{{4, true, 8}, {-4, true, 8}, {0, false, 12}, {4, false, 4}, {-4, false, 4}} {
		x := tracked(t, sensors.DuctVelocity, 0, 0, nil)
		x.live.step, x.live.raw, x.live.kept = 0.5, c.stands, 2
		x.live.blocks[0], x.live.blocks[1] = block{readings: 100, sum: -600}, block{readings: 100, sum: 200}
		require.InDelta(t, c.steps, x.couldMove(c.stopped), 1e-9, "%+v", c)
	}
}

func TestARunOnceKnownToBeDeadStaysSoUntilItsBlockEnds(t *testing.T) {
	c := tracked(t, sensors.DuctVelocity, 0, 0, nil)
	c.live.begun, c.live.dead, c.live.raw, c.live.last = true, true, 4, sensors.Instant{Mono: 10 * time.Minute}
	_, found := heldBy(c).dead(c, c.live.last)
	require.False(t, found, "nothing is usual yet")
	require.True(t, c.live.dead)
	c.live.close(11 * time.Minute)
	require.Zero(t, c.live.kept, "it is no measure of a live one")
	require.False(t, c.live.dead)
	c.live.close(12 * time.Minute)
	require.Equal(t, 1, c.live.kept)
}

// Of 200 readings with a twentieth of the usual variance.
func TestNoiseIsLostOnlyWhereItWasSeenWhole(t *testing.T) {
	live := usual{level: 4, typical: 4, noise: 0.04, all: leastSwings}
	for name, c := range map[string]struct {
		kind   sensors.Kind
		change func(*track, *usual)
		lost   bool
	}{
		"a duct":                 {sensors.DuctVelocity, func(*track, *usual) {}, true},
		"thirty readings":        {sensors.DuctVelocity, func(x *track, _ *usual) { x.live.now = block{readings: 29, sum: 29 * 4} }, true},
		"fewer":                  {sensors.DuctVelocity, func(x *track, _ *usual) { x.live.now = block{readings: 28, sum: 28 * 4} }, false},
		"it hardly ever swung":   {sensors.DuctVelocity, func(_ *track, u *usual) { u.all = leastSwings - 0.001 }, false},
		"half of it one value":   {sensors.DuctVelocity, func(x *track, _ *usual) { x.live.run, x.live.now.readings = 100, 99 }, true},
		"and more":               {sensors.DuctVelocity, func(x *track, _ *usual) { x.live.run, x.live.now.readings = 101, 98 }, false},
		"air that came to rest":  {sensors.DuctVelocity, func(_ *track, u *usual) { u.typical = 8 }, false},
		"a fifth of the noise":   {sensors.DuctVelocity, func(x *track, _ *usual) { x.live.now.squares = 0.199 * 0.04 * 400 }, true},
		"more than a fifth":      {sensors.DuctVelocity, func(x *track, _ *usual) { x.live.now.squares = 0.201 * 0.04 * 400 }, false},
		"a cell beside its zero": {sensors.SulfurDioxide, func(_ *track, u *usual) { u.noise = 25 }, false},
		"and well off it":        {sensors.SulfurDioxide, func(_ *track, u *usual) { u.noise = 9 }, true},
	} {
		x, u := tracked(t, c.kind, 0, 0, nil), live
		x.live.now = block{readings: 199, sum: 199 * 4, squares: 0.05 * 0.04 * 400}
		x.live.raw = 4
		c.change(x, &u)
		_, lost := x.hushed(u, sensors.Instant{Mono: blockLasts})
		require.Equal(t, c.lost, lost, name)
	}
}

// Minutes before a moment are held against those since; of each enough has to be seen.
func TestHowLivelyAProbeIsSinceAMoment(t *testing.T) {
	const minutes = time.Minute
	for name, c := range map[string]struct {
		before, readings int
		share            float64
		known            bool
	}{
		"enough":             {leastBlocks, leastInBlock, 0.5, true},
		"too few before":     {leastBlocks - 1, leastInBlock, 0, false},
		"too few since":      {leastBlocks, leastInBlock - 1, 0, false},
		"too few altogether": {leastBlocks - 1, leastInBlock - 1, 0, false},
	} {
		x := tracked(t, sensors.AirTemperature, 0, 0, nil)
		for i := range c.before {
			x.live.now = block{begun: time.Duration(3*i) * minutes, lasted: 3 * minutes, readings: 100, squares: 200 * float64(i+1)}
			x.live.keep()
		}
		middle := float64(leastBlocks/2 + 1)
		x.live.now = block{begun: 20 * minutes, readings: c.readings - 1, squares: middle * float64(c.readings)}
		share, known := x.asLively(15 * minutes)
		require.Equal(t, c.known, known, name)
		require.InDelta(t, c.share, share, 1e-9, name)
	}
}

// Half a degree Fahrenheit is 0.28 K.
func TestTheStepsOfAProbeCountInTheUnitOfAllProbes(t *testing.T) {
	x := tracked(t, sensors.BathTemperature, 0, 0, nil)
	var err error
	x.channel.Unit, err = quantity.ParseUnit("degF")
	require.NoError(t, err)
	x.live.step = 0.5
	require.InDelta(t, 0.5*5/9, x.resolution(), 1e-9)
	require.False(t, x.fine())
}
