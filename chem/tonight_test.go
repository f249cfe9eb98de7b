package chem_test

import (
	"math"
	"testing"
	"time"

	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"wetside/chem"
	"wetside/sensors/quantity"
	"wetside/sensors/quantity/phrase"
)

func singlePoint(t require.TestingT, at quantity.Celsius, d time.Duration) chem.Table {
	table, err := chem.NewTable("one printed time", []chem.Point{{At: at, Time: d}})
	require.NoError(t, err)
	return table
}

func seconds(t testing.TB, r chem.Recommendation) float64 {
	t.Helper()
	d, ok := r.Time()
	require.True(t, ok, r.Refusal())
	return d.Seconds()
}

func TestTonightFromATable(t *testing.T) {
	r := chem.Tonight(chem.Inputs{Table: rowR6(t), Temperature: chem.Measured(23, 0.3), HydroquinoneFloor: true})
	require.InDelta(t, 358.7, seconds(t, r), 1) // V2
	require.Equal(t, "table", r.Basis().String())
	require.Equal(t, "5:59 = 7:45 at 20 °C, 23 °C -106 s", r.Sentence().String())
	low, high := r.Interval()
	got, _ := r.Time()
	require.Less(t, low, got)
	require.Greater(t, high, got)
}

func TestTonightByTheGeneralRuleIsLabelled(t *testing.T) {
	// V4: the formula's own figures; the coefficient is from memory, so this
	// checks arithmetic alone.
	for c, minutes := range map[quantity.Celsius]float64{18: 9.407, 20: 8, 22: 6.804, 24: 5.786} {
		r := chem.Tonight(chem.Inputs{Table: singlePoint(t, 20, 8*time.Minute), Temperature: chem.Measured(c, 0)})
		require.InDelta(t, minutes*60, seconds(t, r), 1)
		if c != 20 {
			require.Equal(t, "general rule (unverified)", r.Basis().String())
			require.Contains(t, r.Sentence().String(), "by the general rule")
		}
	}
}

func TestGeneralRuleMissesPublishedRowsAndItsIntervalSaysSo(t *testing.T) {
	// V5: rows R1, R6, R10 of Kodak F-32 at 24 °C (verified), against their own
	// time at 20 °C taken through the general rule.
	for name, row := range map[string]struct{ at20, at24, missPercent float64 }{
		"R1": {6.5, 5, -6.0}, "R6": {7.75, 5.5, 1.9}, "R10": {6.5, 5.5, -14.5},
	} {
		r := chem.Tonight(chem.Inputs{Table: singlePoint(t, 20, inMinutes(row.at20)), Temperature: chem.Measured(24, 0.2)})
		require.InDelta(t, row.missPercent, (seconds(t, r)/60/row.at24-1)*100, 0.2, name)
		low, high := r.Interval()
		require.LessOrEqual(t, low, inMinutes(row.at24), name)
		require.GreaterOrEqual(t, high, inMinutes(row.at24), name)
	}
}

func TestHydroquinoneFloor(t *testing.T) {
	// V10: The Wellington Photographic Handbook, p. 130: below 60 °F (15.56 °C).
	table, err := chem.NewTable("wide", []chem.Point{{At: 10, Time: 4 * time.Minute}, {At: 20, Time: 2 * time.Minute}})
	require.NoError(t, err)
	for c, refused := range map[quantity.Celsius]bool{15.0: true, 16.0: false, quantity.FromFahrenheit(60): false} {
		r := chem.Tonight(chem.Inputs{Table: table, Temperature: chem.Measured(c, 0.3), HydroquinoneFloor: true})
		_, ok := r.Time()
		require.Equal(t, refused, !ok, "%v", c)
	}
	r := chem.Tonight(chem.Inputs{Table: table, Temperature: chem.Measured(15, 0.3)})
	_, ok := r.Time()
	require.True(t, ok, "a developer without hydroquinone has no such floor")
}

func TestARefusalHasNoTime(t *testing.T) {
	table := rowR6(t)
	for name, r := range map[string]chem.Recommendation{
		"zero value":      {},
		"no table":        chem.Tonight(chem.Inputs{Temperature: chem.Measured(20, 0)}),
		"no temperature":  chem.Tonight(chem.Inputs{Table: table}),
		"not a number":    chem.Tonight(chem.Inputs{Table: table, Temperature: chem.Measured(quantity.Celsius(math.NaN()), 0)}),
		"too warm":        chem.Tonight(chem.Inputs{Table: table, Temperature: chem.Measured(24.6, 0)}),
		"rule too far":    chem.Tonight(chem.Inputs{Table: singlePoint(t, 20, time.Minute), Temperature: chem.Measured(30, 0)}),
		"rule too cold":   chem.Tonight(chem.Inputs{Table: singlePoint(t, 20, time.Minute), Temperature: chem.Measured(15, 0)}),
		"refused outside": chem.Refused(phrase.Say("the probe has been silent for 6 minutes")),
	} {
		d, ok := r.Time()
		require.False(t, ok, name)
		require.Zero(t, d, name)
		low, high := r.Interval()
		require.Zero(t, low+high, name)
		require.NotEmpty(t, r.Refusal(), name)
		require.Empty(t, r.Basis(), name)
		require.Contains(t, r.Sentence().String(), "No time: ", name)
	}
}

func TestStepsAddUpToTheTimeShown(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		table, err := chem.NewTable("drawn", []chem.Point{{At: 18, Time: 571 * time.Second}, {At: 20, Time: 480 * time.Second},
			{At: 24, Time: 333 * time.Second}})
		require.NoError(t, err)
		c := rapid.Float64Range(18, 24).Draw(t, "temperature")
		r := chem.Tonight(chem.Inputs{Table: table, Temperature: chem.Measured(quantity.Celsius(c), 0.2)})
		got, ok := r.Time()
		require.True(t, ok)
		sum := 480 * time.Second
		for _, s := range r.Steps() {
			sum += s.Change
		}
		require.Equal(t, got.Round(time.Second), sum)
	})
}
