package truth_test

import (
	"fmt"
	"math"
	"math/rand/v2"
	"testing"
	"time"

	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"wetside/rules/truth"
	"wetside/sensors"
)

func stamp(record uint64, after time.Duration) truth.Stamp {
	return truth.Stamp{Record: record, Person: "Ida", At: start().Add(after)}
}

// do checks and takes an act.
func do(t require.TestingT, b truth.Book, act truth.Act, s truth.Stamp) truth.Book {
	require.NoError(t, b.Check(act, s))
	return b.With(act, s)
}

func life(t require.TestingT, b truth.Book, id sensors.ChannelID) truth.Life {
	l, known := b.Life(id)
	require.True(t, known)
	return l
}

const day = 24 * time.Hour

func TestAPlaceOutlivesItsDevices(t *testing.T) {
	b := truth.Open(room(t))
	require.False(t, b.Out("DEV"), "what nobody entered is not taken out")
	b = do(t, b, truth.FitProbe{Channel: "DEV", Probe: "P-1", Accuracy: 0.5}, stamp(1, 0))
	b = do(t, b, truth.FitProbe{Channel: "FX1", Probe: "P-2", Accuracy: 0.5}, stamp(2, day))
	require.ErrorContains(t, b.Check(truth.FitProbe{Channel: "DEV", Probe: "p-1"}, stamp(3, 2*day)), "fitted there already")
	b = do(t, b, truth.FitProbe{Channel: "STP", Probe: "P-1", Accuracy: 0.5}, stamp(4, 2*day))
	require.True(t, b.Out("DEV"), "the device has moved")
	require.Equal(t, start().Add(2*day), life(t, b, "DEV").Fittings[0].To)
	require.Equal(t, "fitted at STP", life(t, b, "DEV").Fittings[0].Why.String())
	b = do(t, b, truth.FitProbe{Channel: "DEV", Probe: "P-3"}, stamp(5, 3*day))
	b = do(t, b, truth.FitProbe{Channel: "FX1", Probe: "P-4"}, stamp(6, 4*day))
	first := life(t, b, "FX1").Fittings
	require.Len(t, first, 2)
	require.Equal(t, first[1].From, first[0].To, "an exchange leaves no time between")
	require.ErrorContains(t, b.Check(truth.FitProbe{Channel: "FX1", Probe: "P-9", From: start().Add(-day)}, stamp(7, 5*day)),
		"before the last change")
	require.ErrorContains(t, b.Check(truth.FitProbe{Channel: "FX1", Probe: "P-9", From: start().Add(9 * day)}, stamp(7, 5*day)),
		"still to come")
	require.ErrorContains(t, b.Check(truth.RemoveProbe{Channel: "FX1"}, stamp(7, 5*day)), "reason is missing")
	b = do(t, b, truth.RemoveProbe{Channel: "FX2", Why: "for a check in ice"}, stamp(8, 5*day))
	require.True(t, b.Out("FX2"))
	require.ErrorContains(t, b.Check(truth.RemoveProbe{Channel: "FX2", Why: "again"}, stamp(9, 5*day)), "already")
	require.ErrorContains(t, b.Check(truth.FitProbe{Channel: "nowhere", Probe: "P-1"}, stamp(9, 5*day)), "no channel")
}

// reading is a good raw reading of a channel that has no correction of its own.
func reading(id sensors.ChannelID, raw float64, after time.Duration) sensors.Reading {
	return sensors.Reading{Channel: id, At: instant(after), Raw: raw, Value: raw, Grade: sensors.Good}
}

func TestACheckInIceIsJudgedByAccuracyAndUncertaintyAndMayCorrectFromItsMomentOn(t *testing.T) {
	b := truth.Open(room(t))
	b = do(t, b, truth.FitProbe{Channel: "DEV", Probe: "P-1", Accuracy: 0.5}, stamp(1, 0))
	next := start().Add(200 * day)
	ice := truth.CheckProbe{Channel: "DEV", Method: truth.IcePoint, Reference: truth.IceTemperature, Uncertainty: truth.IceUncertainty,
		AsFound: 0.6, Next: next}
	b = do(t, b, ice, stamp(2, day))
	c, ok := life(t, b, "DEV").Last()
	require.True(t, ok)
	require.InDelta(t, 0.6, c.Verdict.Allowed, 1e-12)
	require.True(t, c.Verdict.Passed(), "0.6 off is just what 0.5 and 0.1 allow")
	require.Equal(t, "P-1", c.Probe)
	require.InDelta(t, 21.0, b.Reread(reading("DEV", 21, 2*day)).Value, 0, "nothing was corrected")

	ice.AsFound, ice.Correct = 0.7, true
	b = do(t, b, ice, stamp(3, 3*day))
	c, _ = life(t, b, "DEV").Last()
	require.False(t, c.Verdict.Passed())
	require.InDelta(t, 0, c.Left, 0)
	require.True(t, c.Calculated)
	require.InDelta(t, 21.0, b.Reread(reading("DEV", 21, 2*day)).Value, 1e-12, "what came before keeps its value")
	require.InDelta(t, 20.3, b.Reread(reading("DEV", 21, 4*day)).Value, 1e-12)
	require.InDelta(t, 21.0, b.Reread(reading("DEV", 21, 4*day)).Raw, 0, "raw values are never altered")
	require.InDelta(t, 21.0, b.Reread(reading("STP", 21, 4*day)).Value, 0)

	left := ice
	left.AsLeft = new(float64)
	*left.AsLeft = 0.1
	c, _ = life(t, do(t, b, left, stamp(4, 3*day)), "DEV").Last()
	require.InDelta(t, 0.1, c.Left, 0, "what somebody read counts more than what follows from the correction")
	require.False(t, c.Calculated)
	require.Empty(t, life(t, truth.Open(room(t)), "DEV").Recorded())
	require.Len(t, life(t, b, "DEV").Recorded(), 1)

	due, overdue, ok := life(t, b, "DEV").Due(start().Add(199 * day))
	require.True(t, ok)
	require.Equal(t, next, due)
	require.False(t, overdue)
	_, overdue, _ = life(t, b, "DEV").Due(next)
	require.True(t, overdue)
	b = do(t, b, truth.FitProbe{Channel: "DEV", Probe: "P-7"}, stamp(9, 4*day))
	_, _, ok = life(t, b, "DEV").Due(next)
	require.False(t, ok, "the new device was never checked")
	b = do(t, b, ice, stamp(10, 5*day))
	c, _ = life(t, b, "DEV").Last()
	require.False(t, c.Verdict.Known, "without a stated accuracy nothing is judged")
}

// Whatever was in force before: its verdict is the difference from the reference, and what the probe sent then reads as the reference
// from that moment on, if the check corrects it.
func TestAProbeThatItsCheckCorrectsReadsTheReference(t *testing.T) {
	rapid.Check(t, func(r *rapid.T) {
		draw := func(name string, low, high float64) float64 { return rapid.Float64Range(low, high).Draw(r, name) }
		reference, off, allowed := draw("reference", 5, 45), draw("off", -10, 10), draw("accuracy", 0.1, 1)
		b := do(r, truth.Open(room(r)), truth.SetCorrection{Channel: "DEV", Slope: draw("slope", 0.5, 2), Offset: draw("offset", -3, 3),
			Why: "compared"}, stamp(1, 0))
		b = do(r, b, truth.FitProbe{Channel: "DEV", Probe: "P-1", Accuracy: allowed}, stamp(2, 0))
		b = do(r, b, truth.CheckProbe{Channel: "DEV", Method: truth.Reference, Instrument: "R-1", Reference: reference, AsFound: reference + off,
			Uncertainty: 0.1, Correct: true}, stamp(3, day))
		c, _ := life(r, b, "DEV").Last()
		require.InDelta(r, off, c.Verdict.Error, 1e-8)
		require.Equal(r, math.Abs(off) <= allowed+0.1, c.Verdict.Passed())
		require.InDelta(r, reference+off, b.Reread(reading("DEV", c.Raw, day-1)).Value, 1e-8)
		require.InDelta(r, reference, b.Reread(reading("DEV", c.Raw, day)).Value, 1e-8)
		require.InDelta(r, reference, c.Left, 1e-8)
	})
}

func TestWhatCannotBeACheckIsRefusedWithASentence(t *testing.T) {
	b := truth.Open(room(t))
	good := truth.CheckProbe{Channel: "DEV", Method: truth.Reference, Reference: 20, Uncertainty: 0.1, Instrument: "R-1", AsFound: 20.2}
	require.NoError(t, b.Check(good, stamp(1, 0)))
	far, near := 500.0, 20.1
	for _, spoil := range []func(*truth.CheckProbe){
		func(c *truth.CheckProbe) { c.AsFound = far },
		func(c *truth.CheckProbe) { c.AsLeft = &far },
		func(c *truth.CheckProbe) { c.Reference = -far },
	} {
		c := good
		spoil(&c)
		require.ErrorContains(t, b.Check(c, stamp(1, 0)), "far outside")
	}
	left := good
	left.AsLeft = &near
	require.NoError(t, b.Check(left, stamp(1, 0)))
	for want, spoil := range map[string]func(*truth.CheckProbe){
		"method":       func(c *truth.CheckProbe) { c.Method = "by eye" },
		"far outside":  func(c *truth.CheckProbe) { c.AsFound = math.NaN() },
		"uncertainty":  func(c *truth.CheckProbe) { c.Uncertainty = -1 },
		"instrument":   func(c *truth.CheckProbe) { c.Instrument = "" },
		"hide a fault": func(c *truth.CheckProbe) { c.AsFound, c.Correct = 45, true },
		"far from the ice point": func(c *truth.CheckProbe) {
			c.Method, c.Reference, c.AsFound, c.Correct = truth.IcePoint, 0, 14, true // it stood in a cold room
		},
		"day to come": func(c *truth.CheckProbe) { c.Next = start().Add(-day) },
		"ten years":   func(c *truth.CheckProbe) { c.Next = start().Add(30 * 366 * day) },
	} {
		c := good
		spoil(&c)
		require.ErrorContains(t, b.Check(c, stamp(1, 0)), want)
	}
}

func TestTwoReferencesGiveASlopeThatReadsBoth(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		slope, offset := rapid.Float64Range(0.6, 1.9).Draw(t, "slope"), rapid.Float64Range(-3, 3).Draw(t, "offset")
		warm := rapid.Float64Range(15, 45).Draw(t, "reference")
		raw := func(v float64) float64 { return (v - offset) / slope }
		gotSlope, gotOffset, err := truth.Through(truth.Point{Raw: raw(0), True: 0}, truth.Point{Raw: raw(warm), True: warm})
		require.NoError(t, err)
		require.InDelta(t, slope, gotSlope, 1e-9)
		require.InDelta(t, offset, gotOffset, 1e-9)
	})
	_, _, err := truth.Through(truth.Point{Raw: 0, True: 0}, truth.Point{Raw: 1, True: 1})
	require.Error(t, err)

	b := truth.Open(room(t))
	b = do(t, b, truth.FitProbe{Channel: "DEV", Probe: "P-1", Accuracy: 0.5}, stamp(1, 0))
	b = do(t, b, truth.CheckProbe{Channel: "DEV", Method: truth.IcePoint, AsFound: 0.4}, stamp(2, day))
	_, _, ok := life(t, b, "DEV").Suggested()
	require.False(t, ok, "one point is none")
	b = do(t, b, truth.CheckProbe{Channel: "DEV", Method: truth.Reference, Instrument: "R-1", Reference: 20, AsFound: 20.8}, stamp(3, day))
	s, o, ok := life(t, b, "DEV").Suggested()
	require.True(t, ok)
	require.InDelta(t, 20, s*20.8+o, 1e-9)
	require.InDelta(t, 0, s*0.4+o, 1e-9)
}

func TestACorrectionHoldsFromItsDateAndTheLaterRecordWins(t *testing.T) {
	channels := room(t)
	channels[4].Corrections = []sensors.Correction{{From: start(), Slope: 1, Offset: 0.5}}
	id := channels[4].ID
	b := truth.Open(channels)
	at := func(after time.Duration) float64 { return life(t, b, id).True().Correct(20, start().Add(after)) }
	require.InDelta(t, 20.5, at(day), 0, "the configuration's is the first")
	late := truth.SetCorrection{Channel: id, From: start().Add(-14 * day), Slope: 1, Offset: -0.6, Why: "wrong for two weeks"}
	require.Contains(t, late.What(func(id sensors.ChannelID) string { return string(id) }).String(), "up to the next correction",
		"one is in force from start on, so this one ends there")
	b = do(t, b, truth.SetCorrection{Channel: id, From: start().Add(-14 * day), Slope: 1, Offset: -0.6, Why: "wrong for two weeks"},
		stamp(1, 2*day))
	require.InDelta(t, 19.4, at(-day), 1e-12)
	require.InDelta(t, 20.5, at(day), 0, "from its date on the other holds")
	b = do(t, b, truth.SetCorrection{Channel: id, From: start(), Slope: 1, Offset: 0.1, Why: "mistyped before"}, stamp(2, 2*day))
	require.InDelta(t, 20.1, at(day), 1e-12)
	require.Equal(t, start().Add(2*day), life(t, b, id).InForce(start().Add(day)).At, "when it was known stays visible")
	for _, bad := range []truth.SetCorrection{{Slope: 3, Why: "x"}, {Slope: math.NaN(), Why: "x"}, {Slope: 1, Offset: 1e9, Why: "x"},
		{Slope: 1}, {Slope: 1, Why: "x", From: start().Add(9 * day)}} {
		bad.Channel = id
		require.Error(t, b.Check(bad, stamp(3, 3*day)))
	}
}

func TestABookIsNeverChangedOnceMade(t *testing.T) {
	first := do(t, truth.Open(room(t)), truth.FitProbe{Channel: "DEV", Probe: "P-1"}, stamp(1, 0))
	second := do(t, first, truth.RemoveProbe{Channel: "DEV", Why: "broken"}, stamp(2, day))
	require.False(t, first.Out("DEV"))
	require.True(t, second.Out("DEV"))
	f := truth.Finding{ID: "a", What: truth.Jump}
	offered := first.Offered(f)
	decided := do(t, offered, truth.DismissFinding{Finding: truth.Finding{ID: "a"}, Why: "I poured it"}, stamp(3, day))
	require.Empty(t, first.Waiting())
	require.Len(t, offered.Waiting(), 1)
	require.Empty(t, decided.Waiting())
	require.Equal(t, "I poured it", decided.Findings()[0].Why)
	require.Equal(t, "b", decided.Offered(truth.Finding{ID: "b", What: truth.Jump}).Findings()[0].ID, "the newest first")
	require.ErrorContains(t, decided.Check(truth.ConfirmFinding{Finding: f, Why: "no"}, stamp(4, day)), "Ida has judged")
	require.ErrorContains(t, first.Check(truth.ConfirmFinding{Finding: f, Why: "no"}, stamp(4, day)), "not there")
	require.ErrorContains(t, offered.Check(truth.ConfirmFinding{Finding: f}, stamp(4, day)), "reason")
}

// compared is a book with a comparison every third day.
func compared(t require.TestingT, n int, off func(day float64) float64) truth.Life {
	b := truth.Open(room(t))
	b = do(t, b, truth.FitProbe{Channel: "DEV", Probe: "P-1", Accuracy: 0.3}, stamp(1, 0))
	for i := range n {
		after := time.Duration(i*3) * day
		raw := 20 + off(float64(i*3))
		h := truth.HandReading{Channel: "DEV", Value: 20, With: "glass thermometer", Uncertainty: 0.1, Raw: &raw}
		b = do(t, b, h, stamp(uint64(i+2), after+time.Hour))
	}
	return life(t, b, "DEV")
}

func TestADriftAgainstHandReadingsIsFoundWithItsInterval(t *testing.T) {
	dice := rand.New(rand.NewPCG(1, 1))
	noise := func() float64 { return 0.08 * dice.NormFloat64() }
	f, ok := truth.DriftOf(compared(t, 12, func(d float64) float64 { return 0.03*d + noise() }))
	require.True(t, ok)
	require.Equal(t, truth.Drift, f.What)
	require.InDelta(t, 0.99, f.Confidence, 0)
	require.Contains(t, f.Text.String(), "drifted against hand readings by +")
	f, ok = truth.DriftOf(compared(t, 8, func(float64) float64 { return -0.9 + noise() }))
	require.True(t, ok)
	require.Contains(t, f.Text.String(), "reads off by -0.")
	for range 300 {
		_, ok = truth.DriftOf(compared(t, 10, func(float64) float64 { return 0.15 + noise() }))
		require.False(t, ok, "0.15 K off is within what probe and thermometer may differ")
	}
	_, ok = truth.DriftOf(compared(t, 3, func(d float64) float64 { return d }))
	require.False(t, ok, "three comparisons are too few")
}

func TestAHandReadingTakesWhatTheProbeSaidThen(t *testing.T) {
	c := channel(t, "DEV", sensors.BathTemperature)
	act := truth.HandReading{Channel: "DEV", Value: 20, With: "glass"}
	h, ok := truth.Beside(act, c, reading("DEV", 20.4, time.Hour), instant(time.Hour+5*time.Second)).(truth.HandReading)
	require.True(t, ok)
	require.InDelta(t, 20.4, *h.Raw, 0)
	h, ok = truth.Beside(act, c, reading("DEV", 20.4, time.Hour), instant(2*time.Hour)).(truth.HandReading)
	require.True(t, ok)
	require.Nil(t, h.Raw, "an old reading is none")
	_, some := truth.Life{Channel: c}.Difference(truth.Hand{HandReading: act})
	require.False(t, some)
}

// settling is a probe that nears the ice point with a time constant of 15 s, once a second.
func settling(seconds int, dice *rand.Rand) []truth.Moment {
	var list []truth.Moment
	for s := range seconds {
		list = append(list, truth.Moment{At: start().Add(time.Duration(s) * time.Second), Value: 0.3 + 20*math.Exp(-float64(s)/15) +
			0.03*dice.NormFloat64()})
	}
	return list
}

func TestAProbeIsSteadyOnceItNeitherTrendsNorScatters(t *testing.T) {
	dice := rand.New(rand.NewPCG(2, 2))
	for seconds, want := range map[int]bool{30: false, 90: false, 150: false, 260: true, 600: true} {
		m := settling(seconds, dice)
		s := truth.Steady(m, m[len(m)-1].At, 0.1)
		require.Equal(t, want, s.Steady, "after %d s: %+v", seconds, s)
		if want {
			require.InDelta(t, 0.3, s.Mean, 0.02)
		}
	}
	m := settling(600, dice)
	require.False(t, truth.Steady(m, m[599].At.Add(time.Minute), 0.1).Known, "a probe that has fallen silent is not steady")
	require.False(t, truth.Steady(nil, start(), 0.1).Known)
}

func ExampleBook_With() {
	b := truth.Open([]sensors.Channel{{ID: "developer-tray", Name: "Developer tray"}})
	b = b.With(truth.FitProbe{Channel: "developer-tray", Probe: "P-12", Accuracy: 0.5}, truth.Stamp{Record: 7, Person: "Ida"})
	l, _ := b.Life("developer-tray")
	now, _ := l.Fitted()
	fmt.Println(now.Probe, now.Accuracy)
	// Output: P-12 0.5
}

func TestACorrectionIsInheritedUntilTheNewProbeHasItsOwn(t *testing.T) {
	inherited := func(b truth.Book, days time.Duration) bool {
		return life(t, b, "DEV").Inherited(start().Add(days * day))
	}
	b := do(t, truth.Open(room(t)), truth.FitProbe{Channel: "DEV", Probe: "P-1", Accuracy: 0.5}, stamp(1, 0))
	require.False(t, inherited(b, 1), "nothing is corrected")
	b = do(t, b, truth.CheckProbe{Channel: "DEV", Method: truth.IcePoint, AsFound: 0.4, Correct: true}, stamp(2, day))
	require.False(t, inherited(b, 2), "it was found for this probe")
	b = do(t, b, truth.FitProbe{Channel: "DEV", Probe: "P-2", Accuracy: 0.5}, stamp(3, 3*day))
	require.True(t, inherited(b, 4))
	b = do(t, b, truth.CheckProbe{Channel: "DEV", Method: truth.IcePoint, AsFound: 0.1, Correct: true}, stamp(4, 5*day))
	require.False(t, inherited(b, 6))
}

// What a check found of one device says nothing of the next: its readings count as sent until it is checked.
func TestACorrectionEndsWithTheProbeThatItWasFoundFor(t *testing.T) {
	fit := func(probe string) truth.FitProbe {
		return truth.FitProbe{Channel: "DEV", Probe: probe, Uncorrected: true}
	}
	offset := func(b truth.Book, days time.Duration) float64 {
		return life(t, b, "DEV").InForce(start().Add(days * day)).Offset
	}
	b := do(t, truth.Open(room(t)), truth.SetCorrection{Channel: "DEV", Slope: 1, Offset: -0.4, Why: "compared"}, stamp(1, 0))
	b = do(t, b, fit("P-1"), stamp(2, day))
	require.InDelta(t, -0.4, offset(b, 2), 1e-9, "the first device that is entered may be the one that was compared")
	b = do(t, b, truth.RemoveProbe{Channel: "DEV", Why: "to be cleaned"}, stamp(3, 3*day))
	require.InDelta(t, -0.4, offset(do(t, b, fit("p-1"), stamp(4, 4*day)), 5), 1e-9, "the same device is back")
	b = do(t, b, fit("P-2"), stamp(4, 4*day))
	require.Zero(t, offset(b, 5))
	require.InDelta(t, -0.4, offset(b, 3), 1e-9, "what was read before keeps its correction")
	require.False(t, life(t, b, "DEV").Inherited(start().Add(5*day)))
	require.InDelta(t, 20, life(t, b, "DEV").True().Correct(20, start().Add(5*day)), 1e-9)
	require.Len(t, life(t, do(t, b, fit("P-3"), stamp(5, 6*day)), "DEV").Corrections, 2, "there was nothing left to end")
}
