package breathing_test

import (
	"fmt"
	"os"
	"strings"
	"testing"
	"time"

	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"wetside/rules/breathing"
	"wetside/sensors"
	"wetside/sensors/quantity"
)

func shipped(t testing.TB) breathing.Limits {
	t.Helper()
	data, err := os.ReadFile("../../configs/limits.toml")
	require.NoError(t, err)
	limits, err := breathing.ParseLimits(data)
	require.NoError(t, err)
	return limits
}

func unit(t testing.TB, symbol string) quantity.Unit {
	t.Helper()
	u, err := quantity.ParseUnit(symbol)
	require.NoError(t, err)
	return u
}

func row(t testing.TB, l breathing.Limits, want breathing.Limit) breathing.Limit {
	t.Helper()
	for _, r := range l.Rows {
		if r.Agent == want.Agent && r.Jurisdiction == want.Jurisdiction && r.Kind == want.Kind {
			return r
		}
	}
	require.Failf(t, "no row", "%s %s %s", want.Agent, want.Jurisdiction, want.Kind)
	return breathing.Limit{}
}

func TestShippedLimitsReadInATextAreVerified(t *testing.T) {
	limits := shipped(t)
	for _, c := range []breathing.Limit{
		// NIOSH IDLH documentation, acetic acid (May 1994): OSHA 10 ppm, NIOSH 10 and 15 ppm short term, TLV 10 and 15.
		{Agent: "acetic acid", Jurisdiction: "OSHA", Kind: breathing.LongTerm, Value: 10},
		{Agent: "acetic acid", Jurisdiction: "NIOSH", Kind: breathing.LongTerm, Value: 10},
		{Agent: "acetic acid", Jurisdiction: "NIOSH", Kind: breathing.ShortTerm, Value: 15},
		{Agent: "acetic acid", Jurisdiction: "ACGIH", Kind: breathing.ShortTerm, Value: 15},
		// NIOSH IDLH documentation, sulfur dioxide (May 1994): OSHA 5 ppm, NIOSH 2 and 5 ppm short term.
		{Agent: "sulfur dioxide", Jurisdiction: "OSHA", Kind: breathing.LongTerm, Value: 5},
		{Agent: "sulfur dioxide", Jurisdiction: "NIOSH", Kind: breathing.LongTerm, Value: 2},
		{Agent: "sulfur dioxide", Jurisdiction: "NIOSH", Kind: breathing.ShortTerm, Value: 5},
	} {
		got := row(t, limits, c)
		require.Equal(t, c.Value, got.Value)
		require.Equal(t, "ppm", got.Unit.Symbol())
		require.Equal(t, breathing.Verified, got.Standing)
	}
}

func TestShippedLimitsFromMemorySayToCheck(t *testing.T) {
	limits := shipped(t)
	require.Len(t, limits.Agents, 7)
	for _, r := range limits.Rows {
		if strings.HasPrefix(r.Source, "from memory") {
			require.Equal(t, breathing.Unverified, r.Standing, r.Text())
			require.Contains(t, r.Text().String(), "unverified, check your jurisdiction")
		}
		require.False(t, r.Agent == "sulfur dioxide" && r.Jurisdiction == "ACGIH", "two readings contradict each other")
	}
}

func TestTwoJurisdictionsSideBySide(t *testing.T) {
	limits := shipped(t)
	rows := breathing.InForce(limits.Of("sulfur dioxide", "UK", "OSHA"), start(), 0)
	require.Len(t, rows, 3)
	require.Equal(t, "UK", rows[0].Jurisdiction)
	require.Equal(t, "OSHA", rows[2].Jurisdiction)
	require.InDelta(t, 10, rows[2].Value/rows[0].Value, 1e-9) // they differ tenfold

	agent, known := limits.Find("sulfur dioxide")
	require.True(t, known)
	gas := breathing.Gas{Agent: agent, Tape: tapeOf(t, block{8 * time.Hour, 0.8}), Unit: unit(t, "ppm")}
	found := judgeAll(t, gas, rows)
	require.Equal(t, []breathing.Verdict{breathing.Over, breathing.Within, breathing.Within},
		[]breathing.Verdict{found[0].Verdict, found[1].Verdict, found[2].Verdict})
	require.NotEqual(t, breathing.InForce(limits.Of("sulfur dioxide"), start(), 0), rows)
	_, known = limits.Find("helium")
	require.False(t, known)
}

func TestRowsCountFromTheirDate(t *testing.T) {
	limits, err := breathing.ParseLimits([]byte(sample + "effective_from = 2026-04-01\n"))
	require.NoError(t, err)
	require.Empty(t, breathing.InForce(limits.Of("acetic acid"), start(), 0))
	second := sample[strings.Index(sample, "[[limit]]"):]
	_, err = breathing.ParseLimits([]byte(sample + second))
	require.ErrorContains(t, err, "is listed twice")
	both, err := breathing.ParseLimits([]byte(sample + second + "effective_from = 2026-04-01\n"))
	require.NoError(t, err)
	require.Len(t, both.Rows, 2)
	require.Len(t, breathing.InForce(both.Rows, start(), 0), 1, "the earlier edition until then")
	require.Equal(t, both.Rows[1:], breathing.InForce(both.Rows, start().AddDate(0, 1, 0), 0), "the later one from then on")
	require.Len(t, breathing.InForce(limits.Of("acetic acid"), start().AddDate(0, 1, 0), 0), 1)
}

// A limit is lowered for a shift that is longer than the time that it is meant for, no other one.
func TestOnlyALimitForAShorterShiftIsLowered(t *testing.T) {
	long := func(window time.Duration) breathing.Limit {
		return breathing.Limit{Kind: breathing.LongTerm, Value: 10, Window: window}
	}
	for window, lowered := range map[time.Duration]bool{8 * time.Hour: true, 12 * time.Hour: false, 16 * time.Hour: false} {
		got := breathing.InForce([]breathing.Limit{long(window)}, start(), 12*time.Hour)
		require.Len(t, got, 1)
		require.Equal(t, lowered, got[0].Value < 10, "%s", window)
		require.Equal(t, !lowered, got[0] == long(window), "%s", window)
	}
}

const sample = `
[[agent]]
name = "acetic acid"
cas = "64-19-7"
molar_mass = 60.05
irritant = true

[[limit]]
agent = "acetic acid"
jurisdiction = "Example"
edition = "2026"
kind = "short-term average"
window = "15m"
value = 37.0
unit = "mg/m3"
standing = "unverified, check your jurisdiction"
source = "invented for this test"
`

func TestParseLimitsRefuses(t *testing.T) {
	_, err := breathing.ParseLimits([]byte(sample))
	require.NoError(t, err)
	for old, spoiled := range map[string]string{
		`source = "invented for this test"`:                `source = " "`,
		`edition = "2026"`:                                 "",
		`jurisdiction = "Example"`:                         `jurisdiction = ""`,
		"value = 37.0":                                     "value = 0",
		"unit = \"mg/m3\"":                                 "unit = \"Pa\"",
		"unit = \"mg/":                                     "unit = \"furlong/",
		`window = "15m"`:                                   `window = "soon"`,
		"[[limit]]\nagent = \"acetic acid\"":               "[[limit]]\nagent = \"helium\"",
		`kind = "short-term average"`:                      `kind = "sometimes"`,
		`standing = "unverified, check your jurisdiction"`: `standing = "surely"`,
		"molar_mass = 60.05":                               "molar_mass = 0",
		"name = \"acetic acid\"":                           "name = \"\"",
		"irritant = true":                                  "irritating = true",
		"[[agent]]":                                        "[[agent]]\nname = \"acetic acid\"\nmolar_mass = 60.05\n[[agent]]",
		"value = 37.":                                      "value = inf #",
		"\n[[limit]]":                                      "\n[[limit",
	} {
		text := strings.Replace(sample, old, spoiled, 1)
		require.NotEqual(t, sample, text, old)
		_, err := breathing.ParseLimits([]byte(text))
		require.ErrorContains(t, err, "limits:", old)
	}
	second := sample + sample[strings.Index(sample, "[[limit]]"):]
	at := strings.LastIndex(second, "[[limit]]")
	for _, spoil := range [][2]string{{"mg/m3", "Pa"}, {"acetic acid", "helium"}} {
		_, err := breathing.ParseLimits([]byte(second[:at] + strings.Replace(second[at:], spoil[0], spoil[1], 1)))
		require.ErrorContains(t, err, "limits: row 2:", "rows are counted from one")
	}
	for _, c := range [][2]string{{`window = "15m"`, `window = "25h"`}, {`window = "15m"`, ""}, {`kind = "short-term average"`,
		`kind = "ceiling"`}} {
		_, err := breathing.ParseLimits([]byte(strings.Replace(sample, c[0], c[1], 1)))
		require.ErrorContains(t, err, "window", c[1])
	}
}

func FuzzParseLimits(f *testing.F) {
	f.Add([]byte(sample))
	f.Add([]byte("[[limit]]\nvalue = nan"))
	f.Fuzz(func(t *testing.T, data []byte) {
		limits, err := breathing.ParseLimits(data)
		if err != nil {
			return
		}
		for _, r := range limits.Rows {
			require.NoError(t, r.Check())
			_, known := limits.Find(r.Agent)
			require.True(t, known)
		}
	})
}

func TestExtendedShift(t *testing.T) {
	// Brief and Scala factor, textbook formula: 0.50 for 12 h, 0.70 for 10 h.
	for _, c := range []struct {
		shift time.Duration
		want  float64
	}{{12 * time.Hour, 0.5}, {10 * time.Hour, 0.7}, {8 * time.Hour, 1}} {
		factor, err := breathing.BriefScala(c.shift)
		require.NoError(t, err)
		require.InDelta(t, c.want, factor, 1e-9)
	}
	for _, bad := range []time.Duration{0, 7 * time.Hour, 24 * time.Hour} {
		_, err := breathing.BriefScala(bad)
		require.ErrorIs(t, err, breathing.ErrShift)
	}
	limits := shipped(t)
	long := row(t, limits, breathing.Limit{Agent: "acetic acid", Jurisdiction: "OSHA", Kind: breathing.LongTerm})
	lowered, err := long.ForShift(12 * time.Hour)
	require.NoError(t, err)
	require.InDelta(t, 5, lowered.Value, 1e-9)
	require.Equal(t, 12*time.Hour, lowered.Window)
	require.Contains(t, lowered.Text().String(), "times 0.50 for a shift of 12 h")
	require.Equal(t, 10.0, long.Value)

	short := row(t, limits, breathing.Limit{Agent: "acetic acid", Jurisdiction: "NIOSH", Kind: breathing.ShortTerm})
	same, err := short.ForShift(12 * time.Hour)
	require.NoError(t, err)
	require.Equal(t, short, same)
}

func TestLongerShiftsNeverRaiseALimit(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		a := rapid.Float64Range(8, 23.9).Draw(t, "a")
		b := rapid.Float64Range(a, 23.99).Draw(t, "b")
		shorter, err := breathing.BriefScala(time.Duration(a * float64(time.Hour)))
		require.NoError(t, err)
		longer, err := breathing.BriefScala(time.Duration(b * float64(time.Hour)))
		require.NoError(t, err)
		require.LessOrEqual(t, longer, shorter+1e-12)
		require.LessOrEqual(t, shorter, 1.0)
	})
}

// A row is shown with its window and its standing.
func ExampleParseLimits() {
	limits, err := breathing.ParseLimits([]byte(sample))
	fmt.Println(err)
	fmt.Println(limits.Rows[0].Text())
	// Output:
	// <nil>
	// acetic acid, Example (2026), short-term average of 37 mg/m3 over 15 min, unverified, check your jurisdiction
}

// A quantity that names its gas brings its limits by that name alone.
func TestEveryGasThatAQuantityNamesIsInTheFileOfLimits(t *testing.T) {
	limits := shipped(t)
	require.Equal(t, "acetic acid", sensors.AceticAcid.Agent())
	require.Empty(t, sensors.OtherGas.Agent(), "the configuration names it")
	for _, k := range sensors.KnownKinds() {
		if k.Agent() != "" {
			_, known := limits.Find(k.Agent())
			require.True(t, known, k)
		}
	}
}
