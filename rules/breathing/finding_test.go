package breathing_test

import (
	"testing"
	"time"

	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"wetside/rules/breathing"
	"wetside/sensors/quantity"
	"wetside/sensors/quantity/phrase"
)

func acetic() breathing.Agent {
	return breathing.Agent{Name: "acetic acid", CAS: "64-19-7", MolarMass: 60.05, Irritant: true}
}

func limitOf(t testing.TB, kind breathing.LimitKind, window time.Duration) breathing.Limit {
	return breathing.Limit{Agent: "acetic acid", Jurisdiction: "Example", Edition: "2026", Kind: kind, Window: window,
		Value: 10, Unit: unit(t, "ppm"), Standing: breathing.Unverified, Source: "invented for this test"}
}

func TestConversionAgainstPrintedLimits(t *testing.T) {
	// NIOSH IDLH documentation (May 1994) prints acetic acid 10 ppm = 25 mg/m3 and
	// 15 = 37, sulfur dioxide 5 = 13 and 2 = 5; all rounded to the unit.
	for _, c := range []struct {
		ppm     quantity.PartsPerMillion
		mass    quantity.GramPerMole
		printed float64
	}{{10, 60.1, 25}, {15, 60.1, 37}, {5, 64.1, 13}, {2, 64.1, 5}} {
		got := breathing.ToMass(c.ppm, c.mass, breathing.ConventionalMolarVolume)
		require.InDelta(t, c.printed, float64(got), 0.5)
		require.InDelta(t, float64(c.ppm), float64(breathing.ToFraction(got, c.mass, breathing.ConventionalMolarVolume)), 1e-9)
	}
	// Textbook formula R T/p: 24.465 L/mol at 25 °C, 24.055 at 20 °C.
	for temp, want := range map[quantity.Celsius]float64{25: 24.465, 20: 24.055} {
		v, err := breathing.MolarVolume(temp, 101325)
		require.NoError(t, err)
		require.InDelta(t, want, float64(v), 0.0006)
	}
	for _, bad := range [][2]float64{{-274, 101325}, {-273.15, 101325}, {20, 0}, {20, -1}} {
		_, err := breathing.MolarVolume(quantity.Celsius(bad[0]), quantity.Pascal(bad[1]))
		require.Error(t, err)
	}
}

func TestComparedInTheUnitOfTheLimit(t *testing.T) {
	l := limitOf(t, breathing.LongTerm, 8*time.Hour)
	l.Value, l.Unit = 25, unit(t, "mg/m3")
	gas := breathing.Gas{Agent: acetic(), Tape: tapeOf(t, block{8 * time.Hour, 10.1}), Unit: unit(t, "ppm")}
	f, err := gas.Judge(l)
	require.NoError(t, err)
	// 10.1 ppm are 24.8 mg/m3: within the printed 25, although over the printed 10 ppm.
	require.InDelta(t, 10.1*60.05/24.45, f.Average.High, 1e-9)
	require.Equal(t, breathing.Within, f.Verdict)
	f, err = gas.Judge(limitOf(t, breathing.LongTerm, 8*time.Hour))
	require.NoError(t, err)
	require.Equal(t, breathing.Over, f.Verdict)

	l.Value, l.Unit = 24000, unit(t, "ug/m3")
	f, err = gas.Judge(l)
	require.NoError(t, err)
	require.InDelta(t, 24806, f.Average.High, 1)
	require.Equal(t, breathing.Over, f.Verdict)

	gas.Unit = unit(t, "mg/m3")
	f, err = gas.Judge(limitOf(t, breathing.LongTerm, 8*time.Hour))
	require.NoError(t, err)
	require.InDelta(t, 10.1*24.45/60.05, f.Average.High, 1e-9)

	gas.Agent.MolarMass = 0
	_, err = gas.Judge(limitOf(t, breathing.LongTerm, 8*time.Hour))
	require.ErrorContains(t, err, "molar mass")
	gas.Agent, gas.Unit = acetic(), unit(t, "Pa")
	_, err = gas.Judge(limitOf(t, breathing.LongTerm, 8*time.Hour))
	require.ErrorContains(t, err, "expected ppm or mg/m3")
}

func TestCeiling(t *testing.T) {
	l := limitOf(t, breathing.Ceiling, 0)
	gas := breathing.Gas{Agent: acetic(), Tape: tapeOf(t, block{time.Hour, 2}, block{time.Minute, 12}), Unit: unit(t, "ppm")}
	f, err := gas.Judge(l)
	require.NoError(t, err)
	require.Equal(t, breathing.Over, f.Verdict)
	require.Contains(t, f.Sentence.String(), "highest reading 12 ppm")

	// 29 CFR 1910.1000(a)(1): where an instant can't be measured, a 15-minute average.
	gas.CeilingWindow = 15 * time.Minute
	f, err = gas.Judge(l)
	require.NoError(t, err)
	require.Equal(t, breathing.Within, f.Verdict)
	require.InDelta(t, (14*2+12)/15.0, f.Average.High, 1e-9)

	// A gap may hide a peak up to full scale.
	gas = breathing.Gas{Agent: acetic(), Tape: tapeOf(t, block{time.Hour, 2}), Unit: unit(t, "ppm"), Sensor: breathing.Sensor{FullScale: 20}}
	require.NoError(t, gas.Tape.Unsampled(time.Minute, phrase.Say("probe lifted")))
	f, err = gas.Judge(l)
	require.NoError(t, err)
	require.Equal(t, breathing.CantTell, f.Verdict)
	require.Contains(t, f.Sentence.String(), "Not known: probe lifted.")

	gas.Tape = breathing.Tape{}
	f, err = gas.Judge(l)
	require.NoError(t, err)
	require.Equal(t, breathing.CantTell, f.Verdict)
	require.Contains(t, f.Sentence.String(), "can't tell: read for 0 % of the time")
}

// judgeAll sets a gas against several limits, such as those of two jurisdictions side by side.
func judgeAll(t *testing.T, gas breathing.Gas, rows []breathing.Limit) (found []breathing.Finding) {
	for _, row := range rows {
		f, err := gas.Judge(row)
		require.NoError(t, err)
		found = append(found, f)
	}
	return found
}

func TestActionLevel(t *testing.T) {
	limits := shipped(t)
	agent, _ := limits.Find("formaldehyde")
	gas := breathing.Gas{Agent: agent, Tape: tapeOf(t, block{8 * time.Hour, 0.6}), Unit: unit(t, "ppm")}
	found := judgeAll(t, gas, breathing.InForce(limits.Of("formaldehyde", "OSHA"), start(), 0))
	verdicts := map[breathing.LimitKind]breathing.Verdict{}
	for _, f := range found {
		verdicts[f.Limit.Kind] = f.Verdict
	}
	// The arithmetic of three rows: over the action level, within the two limits.
	require.Equal(t, map[breathing.LimitKind]breathing.Verdict{
		breathing.LongTerm: breathing.Within, breathing.ShortTerm: breathing.Within, breathing.ActionLevel: breathing.Over,
	}, verdicts)
}

func TestSensorThatCannotSupportALimitSaysSo(t *testing.T) {
	l := limitOf(t, breathing.ShortTerm, 15*time.Minute)
	l.Value = 0.25 // steps of 0.1 ppm can't support a decision at 0.25 ppm
	gas := breathing.Gas{Agent: acetic(), Tape: tapeOf(t, block{time.Hour, 0.1}), Unit: unit(t, "ppm"),
		Sensor: breathing.Sensor{Resolution: 0.1}}
	f, err := gas.Judge(l)
	require.NoError(t, err)
	require.Equal(t, breathing.CantTell, f.Verdict)
	require.Contains(t, f.Sentence.String(), "The sensor's steps of 0.1 ppm are too coarse for a limit of 0.25 ppm.")

	gas.Tape = tapeOf(t, block{time.Hour, 3})
	f, err = gas.Judge(l)
	require.NoError(t, err)
	require.Equal(t, breathing.Over, f.Verdict, "a clear excess stays one")

	require.Empty(t, breathing.Sensor{Resolution: 0.1}.Supports(0.5, "ppm", false))
	require.Empty(t, breathing.Sensor{}.Supports(0.5, "ppm", false))
	require.Empty(t, breathing.Sensor{Detection: 0.5, FullScale: 0.5}.Supports(0.5, "ppm", false), "just")
	require.NotEmpty(t, breathing.Sensor{Resolution: 0.1001}.Supports(0.5, "ppm", false))
	require.Contains(t, breathing.Sensor{Detection: 1}.Supports(0.5, "ppm", false).String(), "detects nothing below 1 ppm")
	require.Contains(t, breathing.Sensor{FullScale: 5}.Supports(10, "ppm", false).String(), "range ends at 5 ppm")
}

// A meter of carbon dioxide that ends at 5000 ppm and never came there has shown that 30 000 ppm were not reached.
func TestAMeterWhoseRangeEndsBelowTheLimitShowsThatItWasKeptWhereAllWasRead(t *testing.T) {
	for name, c := range map[string]struct {
		add  func(*breathing.Tape) error
		want breathing.Verdict
	}{
		"all read":        {func(t *breathing.Tape) error { return t.Sampled(time.Minute, breathing.Measured(4)) }, breathing.Within},
		"a minute unread": {func(t *breathing.Tape) error { return t.Unsampled(time.Minute, phrase.Say("no reading")) }, breathing.CantTell},
		"came to its end": {func(t *breathing.Tape) error { return t.Sampled(time.Minute, breathing.OverRange(5)) }, breathing.CantTell},
	} {
		tape := tapeOf(t, block{14 * time.Minute, 4})
		require.NoError(t, c.add(&tape))
		gas := breathing.Gas{Agent: acetic(), Tape: tape, Unit: unit(t, "ppm"), Sensor: breathing.Sensor{FullScale: 5}}
		f, err := gas.Judge(limitOf(t, breathing.ShortTerm, 15*time.Minute)) // 10 ppm
		require.NoError(t, err)
		require.Equal(t, c.want, f.Verdict, name)
	}
}

func TestJudgeRefusesABadRow(t *testing.T) {
	gas := breathing.Gas{Agent: acetic(), Tape: tapeOf(t, block{time.Hour, 1}), Unit: unit(t, "ppm")}
	l := limitOf(t, breathing.LongTerm, 8*time.Hour)
	l.Source = ""
	_, err := gas.Judge(l)
	require.ErrorContains(t, err, "source")
}

// Two hours of readings far below the limit say nothing of the other six.
func TestNothingIsWithinALimitThatWasHardlyRead(t *testing.T) {
	judge := func(read time.Duration, fullScale float64) breathing.Finding {
		tape := tapeOf(t, block{read, 1})
		if rest := 8*time.Hour - read; rest > 0 {
			require.NoError(t, tape.Unsampled(rest, phrase.Say("no reading")))
		}
		gas := breathing.Gas{Agent: acetic(), Tape: tape, Unit: unit(t, "ppm"), Sensor: breathing.Sensor{FullScale: fullScale}}
		f, err := gas.Judge(limitOf(t, breathing.LongTerm, 8*time.Hour)) // 10 ppm
		require.NoError(t, err)
		return f
	}
	hardly := judge(2*time.Hour, 11)
	require.Equal(t, breathing.CantTell, hardly.Verdict, "although its bound of 8.5 ppm lies below 10 ppm")
	require.Contains(t, hardly.Sentence.String(), "read for 25 % of the time. Not known: no reading. At least 75 % must be read before "+
		"it counts as within the limit.")
	require.Contains(t, hardly.Sentence.String(), "and as the end of the sensor's range at the highest")

	enough := judge(6*time.Hour, 20)
	require.Equal(t, breathing.Within, enough.Verdict, "6 h of 1 ppm and 2 h of at most 20 ppm are at most 5.75 ppm")
	require.InDelta(t, 5.75, enough.Average.High, 1e-9)
	require.Equal(t, breathing.CantTell, judge(6*time.Hour, 50).Verdict, "2 h of at most 50 ppm are up to 13.25 ppm")

	open := judge(6*time.Hour, 0)
	require.Equal(t, breathing.CantTell, open.Verdict, "no range bounds what was not read")
	require.Contains(t, open.Sentence.String(), "at least 0.7 ppm", "0.75 ppm, and no less than is said")
	require.Contains(t, open.Sentence.String(), "the end of the sensor's range is not configured")
	require.Equal(t, breathing.Within, judge(8*time.Hour, 0).Verdict, "all of it was read")
}

func TestARangeIsWideBeyondTenTimesItsLowerEnd(t *testing.T) {
	for high, wide := range map[float64]bool{10: false, 10.5: true} {
		f := breathing.Finding{Verdict: breathing.CantTell, Average: breathing.Average{Low: 1, High: high, Coverage: 0.9}}
		require.Equal(t, wide, f.Wide(), high)
		f.Verdict = breathing.Within
		require.False(t, f.Wide(), "the verdict says it all")
	}
}

func TestMixture(t *testing.T) {
	// 29 CFR 1910.1000(d)(2)(i), worked example: 0.500 + 0.225 + 0.200 = 0.925, within.
	x, err := breathing.Mixture([]breathing.Part{{500, 500, 1000}, {45, 45, 200}, {40, 40, 200}})
	require.NoError(t, err)
	require.InDelta(t, 0.925, x.High, 1e-9)
	require.InDelta(t, 0.925, x.Low, 1e-9)
	require.Equal(t, breathing.Within, x.Verdict())

	x, err = breathing.Mixture([]breathing.Part{{2, 8, 10}, {1, 4, 10}})
	require.NoError(t, err)
	require.Equal(t, breathing.CantTell, x.Verdict())
	x, err = breathing.Mixture([]breathing.Part{{8, 8, 10}, {4, 4, 10}})
	require.NoError(t, err)
	require.Equal(t, breathing.Over, x.Verdict())

	for _, bad := range [][]breathing.Part{nil, {{1, 1, 0}}, {{1, 1, -1}}, {{-1, 1, 10}}, {{2, 1, 10}}} {
		_, err := breathing.Mixture(bad)
		require.Error(t, err)
	}
}

func TestMixtureOfManyTenthsJustMeetsOne(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		n := rapid.IntRange(1, 60).Draw(t, "parts")
		limit := rapid.Float64Range(0.01, 1000).Draw(t, "limit")
		parts := make([]breathing.Part, n)
		for i := range parts {
			parts[i] = breathing.Part{Low: limit / float64(n), High: limit / float64(n), Limit: limit}
		}
		x, err := breathing.Mixture(parts)
		require.NoError(t, err)
		require.Equal(t, breathing.Within, x.Verdict())
	})
}

func TestAnAverageIsJudgedByItsWholeInterval(t *testing.T) {
	for _, c := range []struct {
		average breathing.Average
		want    breathing.Verdict
	}{
		{breathing.Average{Low: 5, High: 10, Coverage: 1}, breathing.Within},
		{breathing.Average{Low: 5, High: 10.01, Coverage: 1}, breathing.CantTell},
		{breathing.Average{Low: 10, High: 12, Coverage: 1}, breathing.CantTell},
		{breathing.Average{Low: 10.01, High: 12, Coverage: 0.01}, breathing.Over},
		{breathing.Average{Low: 5, High: 9, Coverage: 1, Open: true}, breathing.CantTell},
		{breathing.Average{Low: 5, High: 9, Coverage: breathing.LeastCoverage}, breathing.Within},
		{breathing.Average{Low: 5, High: 9, Coverage: breathing.LeastCoverage - 0.001}, breathing.CantTell},
	} {
		require.Equal(t, c.want, c.average.Against(10), "%+v", c.average)
	}
}
