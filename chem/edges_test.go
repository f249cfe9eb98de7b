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

func TestATableLiesBetweenIceAndSteamAndWithinADay(t *testing.T) {
	for _, c := range []struct {
		at   quantity.Celsius
		time time.Duration
		can  bool
	}{{0, time.Minute, true}, {100, time.Minute, true}, {-0.01, time.Minute, false}, {100.01, time.Minute, false},
		{20, 24 * time.Hour, true}, {20, 24*time.Hour + 1, false}, {20, 1, true}, {20, 0, false}} {
		_, err := chem.NewTable("invented", []chem.Point{{At: c.at, Time: c.time}})
		require.Equal(t, c.can, err == nil, "%+v", c)
	}
}

// Factors of 4, 6 and 9 have the geometric mean 6.
func TestAFactorIsTheGeometricMeanOfThreePrintsOrMore(t *testing.T) {
	seen := []chem.Observation{{"Ada", 10 * time.Second, 40 * time.Second}, {"Ben", 10 * time.Second, 60 * time.Second},
		{"Cem", 10 * time.Second, 90 * time.Second}}
	f, err := chem.FactorOf("Ada", seen)
	require.NoError(t, err)
	require.Equal(t, "3 prints of everybody", f.Source.String())
	require.InDelta(t, 6, f.Value, 1e-9)
	early := chem.Observation{Person: "Dan", Emergence: 10 * time.Second, Total: 10 * time.Second}
	f, err = chem.FactorOf("Ada", append(seen, early))
	require.NoError(t, err)
	require.InDelta(t, 6, f.Value, 1e-9, "a print that was pulled as its image appeared tells no factor")
	_, err = chem.FactorOf("Ada", seen[:2])
	require.ErrorContains(t, err, "only 2 usable prints: a factor needs 3")
}

// Each kelvin counts alike, there and back.
func TestTheGeneralRuleOverTwoStepsIsThatOfBoth(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		from := quantity.Celsius(rapid.Float64Range(15, 25).Draw(t, "from"))
		by := quantity.Celsius(rapid.IntRange(-60, 60).Draw(t, "by")) / 10
		least, most := chem.ByTemperature(from, from+by)
		least2, most2 := chem.ByTemperature(from, from+2*by)
		require.InEpsilon(t, least*least, least2, 1e-9)
		require.InEpsilon(t, most*most, most2, 1e-9)
		back, forth := chem.ByTemperature(from+by, from)
		require.InEpsilon(t, 1, least*forth, 1e-9)
		require.InEpsilon(t, 1, most*back, 1e-9)
		require.LessOrEqual(t, least, most)
		require.Equal(t, by < 0, least > 1, "colder takes longer")
	})
}

func TestAnUncertainStrengthWidensTheInterval(t *testing.T) {
	sure, unsure := at1plus9(t), at1plus9(t)
	unsure.Strength.Uncertainty = 0.1
	a, b := chem.Tonight(sure), chem.Tonight(unsure)
	require.InDelta(t, seconds(t, a), seconds(t, b), 1e-9)
	widthOf := func(r chem.Recommendation) time.Duration { low, high := r.Interval(); return high - low }
	require.Greater(t, widthOf(b), widthOf(a)+time.Second)
}

func TestABathWithoutAVolumeOrWithAnImpossibleUseIsNotJudged(t *testing.T) {
	one := chem.Booking{Students: 1, SheetsEach: 1, Sheet: sheet(t, "8x10in")}
	for _, b := range []chem.Bath{{Capacity: navyFixer(t)}, {Volume: -1, Capacity: navyFixer(t)},
		{Volume: 1, Used: -1, Capacity: navyFixer(t)}, {Volume: 1, Used: quantity.SquareMetre(math.NaN()), Capacity: navyFixer(t)},
		{Volume: 1, Capacity: chem.Capacity{PerLitre: navyFixer(t).PerLitre}}} {
		_, err := b.Lasts(one)
		require.True(t, chem.IsRefusal(err), "%+v", b)
	}
}

func TestAUseThatCannotBeIsNotKnown(t *testing.T) {
	in := chem.Inputs{Table: printTable(t), Temperature: chem.Measured(20, 0.3)}
	plain := seconds(t, chem.Tonight(in))
	for _, u := range []chem.BathUse{{Used: 1, Slowing: 0.2}, {Used: -1, Capacity: 5, Slowing: 0.2}, {Used: 1, Capacity: 5, Slowing: -0.1},
		{Used: 1, Capacity: 5, Slowing: 10.1}} {
		in.Use = u
		require.Contains(t, chem.Tonight(in).Unknown(), phrase.Say("use"), "%+v", u)
		require.InDelta(t, plain, seconds(t, chem.Tonight(in)), 1e-9)
	}
	for _, u := range []chem.BathUse{{Capacity: 5, Slowing: 0.2}, {Used: 1, Capacity: 5}, {Used: 1, Capacity: 5, Slowing: 10}} {
		in.Use = u
		require.NotContains(t, chem.Tonight(in).Unknown(), phrase.Say("use"), "%+v", u)
	}
}
