package truth_test

import (
	"math"
	"math/rand/v2"
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"wetside/rules/truth"
	"wetside/sensors"
)

// Running water wanders by 0.2 K to and fro in eight minutes, and the air of a duct by 0.2 m/s. A plug is out for twenty seconds of it, and
// what the value does then decides.
func TestAStepAtAPlugIsOneThatCameWithItAndStayed(t *testing.T) {
	const plug = 3600
	wave := func(i int) float64 { return 18 + 0.2*math.Sin(2*math.Pi*float64(i)/480) }
	after := func(i, second int, by float64) float64 {
		if i >= second {
			return by
		}
		return 0
	}
	for name, c := range map[string]struct {
		off   func(i int) float64
		found bool
	}{
		"nothing":            {func(int) float64 { return 0 }, false},
		"a small step":       {func(i int) float64 { return after(i, plug, 0.3) }, false},
		"a step up":          {func(i int) float64 { return after(i, plug, 1.4) }, true},
		"a smaller step":     {func(i int) float64 { return after(i, plug, 0.9) }, true},
		"of half minutes":    {func(i int) float64 { return after(i, plug, 0.75) }, true}, // means of two wander by as much
		"and back":           {func(i int) float64 { return after(i, plug, 0.9) - after(i, plug+150, 0.9) }, false},
		"a step down":        {func(i int) float64 { return after(i, plug, -1.4) }, true},
		"back after seconds": {func(i int) float64 { return after(i, plug, 1.4) - after(i, plug+60, 1.4) }, false},
		"back after minutes": {func(i int) float64 { return after(i, plug, 1.4) - after(i, plug+150, 1.4) }, false},
		"a third of it back": {func(i int) float64 { return after(i, plug, 1.4) - after(i, plug+150, 0.45) }, true},
		"minutes before":     {func(i int) float64 { return after(i, plug-100, 1.4) }, false},
		"it had been there":  {func(i int) float64 { return after(i, plug, 1.4) - after(i, plug-100, 1.4) }, false},
		"steps are usual": {func(i int) float64 {
			return after(i, plug, 1.4) + after(i, plug-1900, 1.4) - after(i, plug-900, 1.4)
		}, false},
		"it had begun and goes on": {func(i int) float64 {
			return -1.4 * (1 - math.Exp(-float64(max(0, i-plug+38))/35))
		}, false},
		"it goes on": {func(i int) float64 { return 1.4 * float64(max(0, i-plug+20)) / 40 }, false},
	} {
		for _, kind := range []sensors.Kind{sensors.WaterTemperature, sensors.DuctVelocity} {
			h := hear(t, channel(t, "WSH", kind), time.Second)
			number := -1
			says := func(int) float64 { number++; return math.Round(100*(wave(number)+c.off(number))) / 100 }
			_, at := h.says(plug-20, says)
			require.Zero(t, at, name)
			h.now, number = h.now+20*time.Second, number+20
			f, at := h.says(400, says)
			require.Equal(t, c.found, at > 0, "%s of %s: %v", name, kind, f.Text)
			if c.found {
				require.Equal(t, truth.Jump, f.What, name)
				require.Equal(t, (plug+220)*time.Second, at, "%s: once three minutes and a half have shown that it stays", name)
			}
		}
	}
}

// The air of a duct goes to and fro within a minute by as much as a step is large: only means of two minutes show that it stepped.
func TestAStepAtAPlugIsSeenByMeansOfTwoMinutesWhereHalfAMinuteHidesIt(t *testing.T) {
	const plug = 3600
	for _, c := range []struct {
		from, back int
		by         int // fifths of a metre a second
		found      bool
	}{{plug, plug + 400, 2, true}, {plug, plug + 140, 2, false}, {plug - 60, plug + 400, 2, false},
		{plug + 60, plug + 400, 2, false}, {plug, plug + 400, 1, false}} {
		h := hear(t, channel(t, "VEL", sensors.DuctVelocity), time.Second)
		number := -1
		says := func(int) float64 {
			number++
			v := 20 + number/30%2
			if number >= c.from && number < c.back {
				v += c.by
			}
			return float64(v) / 5
		}
		_, at := h.says(plug-10, says)
		require.Zero(t, at)
		h.now, number = h.now+10*time.Second, number+10
		f, at := h.says(400, says)
		require.Equal(t, c.found, at > 0, "%+v: %v", c, f.Text)
		if c.found {
			require.Contains(t, f.Text.String(), "VEL read 4.10 m/s before its plug was pulled and 4.50 m/s when it was back.")
		}
	}
}

// Still water is cold for a while after the plug of its probe was put back: the probe lay beside it meanwhile.
func TestAProbeThatIsBackInItsPlaceAfterAMinuteHasNoOtherZero(t *testing.T) {
	const plug = 3600
	for name, c := range map[string]struct {
		cold, out int // s
		by        float64
		found     bool
	}{
		"for a minute": {60, 20, 1.4, false}, "for minutes": {150, 20, 1.4, false}, "for good": {400, 20, 1.4, true},
		"less than is worth showing": {400, 20, 0.08, false}, "and more": {400, 20, 0.12, true},
		"its plug was out for four minutes and a half": {400, 270, 1.4, true}, "for six": {400, 360, 1.4, false},
	} {
		h := hear(t, channel(t, "WSH", sensors.WaterTemperature), time.Second)
		dice, number := rand.New(rand.NewPCG(3, 7)), -1
		says := func(int) float64 {
			number++
			v := 18 + 0.01*dice.NormFloat64()
			if number >= plug && number < plug+c.cold {
				v -= c.by
			}
			return math.Round(100*v) / 100
		}
		h.says(plug-c.out, says)
		h.now, number = h.now+time.Duration(c.out)*time.Second, number+c.out
		f, at := h.says(400, says)
		require.Equal(t, c.found, at > 0, "%s: %v", name, f.Text)
	}
}

// Carbon dioxide falls by eighty ppm a minute since a fan was started, and a plug is out for twenty seconds of it: what is off
// the course of that fall is a step, also where the fall soon makes up for it.
func TestAStepAtAPlugIsSeenWhileTheValueFalls(t *testing.T) {
	const started, plug = 3300, 3600
	falls := func(i int) float64 { return 420 + 1230*math.Exp(-float64(max(0, i-started))/500) }
	for name, c := range map[string]struct {
		off   func(i int) float64
		found bool
	}{
		"nothing":            {func(int) float64 { return 0 }, false},
		"a step up":          {func(i int) float64 { return 256 * float64(min(1, i/plug)) }, true},
		"a step down":        {func(i int) float64 { return -200 * float64(min(1, i/plug)) }, true},
		"a small step":       {func(i int) float64 { return 12 * float64(min(1, i/plug)) }, false},
		"back after minutes": {func(i int) float64 { return 256 * float64(min(1, i/plug)-min(1, i/(plug+150))) }, false},
		"it had been there":  {func(i int) float64 { return 256 * float64(min(1, i/plug)-min(1, i/(plug-100))) }, false},
		"another course":     {func(i int) float64 { return 2 * float64(max(0, i-plug)) }, false},
	} {
		h := hear(t, channel(t, "CO2", sensors.CarbonDioxide), time.Second)
		dice, number := rand.New(rand.NewPCG(3, 7)), -1
		says := func(int) float64 {
			number++
			return math.Round(falls(number) + c.off(number) + 3*dice.NormFloat64())
		}
		_, at := h.says(plug-20, says)
		require.Zero(t, at, name)
		h.now, number = h.now+20*time.Second, number+20
		f, at := h.says(400, says)
		require.Equal(t, c.found, at > 0, "%s: %v", name, f.Text)
		if c.found {
			require.Equal(t, truth.Jump, f.What, name)
			require.GreaterOrEqual(t, f.Percent(), 90, name)
		}
	}
}

// A duct's velocity falls as fast, and takes another pace while its plug is out: so does air when a door is opened.
func TestAVelocityThatChangesFastMayTakeAnotherPaceAtAPlug(t *testing.T) {
	const started, plug = 3300, 3600
	h := hear(t, channel(t, "VEL", sensors.DuctVelocity), time.Second)
	dice, number := rand.New(rand.NewPCG(3, 7)), -1
	says := func(int) float64 {
		number++
		course := 4.2 + 12.3*math.Exp(-float64(max(0, number-started))/500) + 2.56*float64(min(1, number/plug))
		return math.Round(100*(course+0.03*dice.NormFloat64())) / 100
	}
	_, at := h.says(plug-20, says)
	require.Zero(t, at)
	h.now, number = h.now+20*time.Second, number+20
	f, at := h.says(400, says)
	require.Zero(t, at, "%v", f.Text)
}

// What was done to the water within twelve minutes of the plug may have changed it: then a step is none of the probe.
func TestAnEntryOfTheMinutesBeforeExplainsAStepAtAPlug(t *testing.T) {
	const plug = 3600
	for before, found := range map[int]bool{200: false, 715: false, 745: true} {
		h := hear(t, channel(t, "WSH", sensors.WaterTemperature), time.Second)
		number := -1
		says := func(int) float64 {
			number++
			return math.Round(10*(18+0.2*math.Sin(float64(number)/76)+1.4*float64(min(1, number/plug)))) / 10
		}
		_, at := h.says(plug-20-before, says)
		require.Zero(t, at, before)
		h.watch.Done("WSH", instant(h.now))
		_, at = h.says(before, says)
		require.Zero(t, at, before)
		h.now, number = h.now+20*time.Second, number+20
		f, at := h.says(400, says)
		require.Equal(t, found, at > 0, "%d s before: %v", before, f.Text)
	}
}
