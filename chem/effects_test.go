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

// Times at 24 °C for one film at 1+7, 1+9 and 1+15. Source: Kodak F-32 (verified;
// printed as 1:7, 1:9, 1:15, taken there as parts of water).
func publishedDilutions(t testing.TB) []chem.DilutionTime {
	t.Helper()
	return []chem.DilutionTime{
		{Parts: parts(t, "1+15"), Time: inMinutes(13)},
		{Parts: parts(t, "1+7"), Time: inMinutes(10)},
		{Parts: parts(t, "1+9"), Time: inMinutes(11.5)},
	}
}

func at1plus9(t testing.TB) chem.Inputs {
	t.Helper()
	return chem.Inputs{
		Table: singlePoint(t, 24, inMinutes(11.5)), Temperature: chem.Measured(24, 0.2),
		Strength: chem.BathStrength{Nominal: parts(t, "1+9"), Made: parts(t, "1+9").Strength(), Published: publishedDilutions(t)},
	}
}

func TestStrengthFollowsThePublishedDilutions(t *testing.T) {
	in := at1plus9(t)
	for text, minutes := range map[string]float64{"1+7": 10, "1+9": 11.5, "1+15": 13} {
		in.Strength.Made = parts(t, text).Strength()
		require.InDelta(t, minutes*60, seconds(t, chem.Tonight(in)), 0.01, text)
	}
	// Half way in ln(strength) between 1+9 (10 %) and 1+15 (6.25 %): the time is
	// the geometric mean (derived from the same row).
	in.Strength.Made = chem.Strength(math.Sqrt(0.1 * 0.0625))
	r := chem.Tonight(in)
	require.InDelta(t, math.Sqrt(11.5*13)*60, seconds(t, r), 0.01)
	require.Contains(t, r.Sentence().String(), "strength 7.91 % +44 s")
	require.Equal(t, []phrase.Sentence{phrase.Say("use")}, r.Unknown())
}

func TestStrengthOutsideThePublishedDilutionsIsRefused(t *testing.T) {
	in := at1plus9(t)
	in.Strength.Made = parts(t, "1+17").Strength()
	require.Contains(t, chem.Tonight(in).Refusal().String(), "outside the published dilutions, 6.25 % to 12.5 %")
	in.Strength.Made, in.Strength.Uncertainty = parts(t, "1+15.5").Strength(), 0.05
	require.InDelta(t, 13*60, seconds(t, chem.Tonight(in)), 1e-6, "the graduates cannot tell it from 1+15")
	in.Strength.Made = parts(t, "1+6.8").Strength()
	require.InDelta(t, 10*60, seconds(t, chem.Tonight(in)), 1e-6, "nor this from 1+7")

	in = at1plus9(t)
	in.Strength.Published = nil
	require.Empty(t, chem.Tonight(in).Refusal())
	in.Strength.Made = parts(t, "1+10").Strength() // the student's 100 mL + 1000 mL
	require.Contains(t, chem.Tonight(in).Refusal().String(), "9.09 % instead of 10 %")
	in.Strength.Published = []chem.DilutionTime{{Parts: parts(t, "1+9"), Time: time.Minute}, {Parts: parts(t, "1+9"), Time: time.Minute}}
	require.Contains(t, chem.Tonight(in).Refusal().String(), "twice")
	whole := chem.DilutionTime{Parts: parts(t, "1+9"), Time: time.Minute}
	for _, half := range []chem.DilutionTime{{Time: time.Minute}, {Parts: parts(t, "1+14")}} {
		in.Strength.Published = []chem.DilutionTime{whole, half}
		require.Contains(t, chem.Tonight(in).Refusal().String(), "has no parts or no time")
	}
}

// printTable gives 1:48 at 20 °C, invented, for the story of the board's sentence.
func printTable(t testing.TB) chem.Table {
	t.Helper()
	table, err := chem.NewTable("invented", []chem.Point{{At: 18, Time: 125 * time.Second}, {At: 20, Time: 108 * time.Second},
		{At: 22, Time: 93 * time.Second}})
	require.NoError(t, err)
	return table
}

func TestTheBoardGivesItsReasons(t *testing.T) {
	r := chem.Tonight(chem.Inputs{
		Table: printTable(t), Temperature: chem.Measured(18.4, 0.3), HydroquinoneFloor: true,
		Use: chem.BathUse{Used: 62, Capacity: 155, Slowing: 0.16, Words: phrase.Say("62 sheets")},
	})
	require.Equal(t, "2:09 = 1:48 at 20 °C, 18.4 °C +13 s, 62 sheets +8 s", r.Sentence().String())
	require.Equal(t, []phrase.Sentence{phrase.Say("strength")}, r.Unknown())
	require.Equal(t, "table", r.Basis().String())
}

func TestATiredBathIsRefusedPastItsCapacity(t *testing.T) {
	in := chem.Inputs{Table: printTable(t), Temperature: chem.Measured(20, 0.3)}
	in.Use = chem.BathUse{Used: 5, Capacity: 5, Slowing: 0.2}
	require.InDelta(t, 108*1.2, seconds(t, chem.Tonight(in)), 0.01)
	require.Contains(t, chem.Tonight(in).Sentence().String(), "100 % of capacity used +22 s")
	in.Use.Used = 5.1
	require.Contains(t, chem.Tonight(in).Refusal().String(), "capacity is used up (102 %)")
}

func TestEmergenceOverridesTheCount(t *testing.T) {
	in := chem.Inputs{
		Table: printTable(t), Temperature: chem.Measured(20, 0.3),
		Use: chem.BathUse{Used: 1, Capacity: 100, Slowing: 0.2},
		Emergence: chem.Emergence{Fresh: 10 * time.Second, FreshAt: 20, Now: []time.Duration{15 * time.Second, 14 * time.Second,
			16 * time.Second}},
	}
	r := chem.Tonight(in)
	require.InDelta(t, 108*1.5, seconds(t, r), 0.01)
	require.Contains(t, r.Sentence().String(), "emergence 15 s overrides the count")
	require.Equal(t, "table and emergence", r.Basis().String())
}

func TestEmergenceThatAgreesIsWeighedIn(t *testing.T) {
	in := chem.Inputs{
		Table: printTable(t), Temperature: chem.Measured(20, 0.3),
		Use:       chem.BathUse{Used: 50, Capacity: 100, Slowing: 0.2},
		Emergence: chem.Emergence{Fresh: 10 * time.Second, FreshAt: 20, Now: []time.Duration{12 * time.Second}},
	}
	with := chem.Tonight(in)
	in.Emergence = chem.Emergence{}
	without := chem.Tonight(in)
	require.Greater(t, seconds(t, with), 108*1.1)
	require.Less(t, seconds(t, with), 108*1.2)
	require.Less(t, seconds(t, with)-108*1.1, 108*1.2-seconds(t, with), "the surer of the two weighs more")
	low, high := with.Interval()
	lowWithout, highWithout := without.Interval()
	require.Less(t, math.Log(high.Seconds()/low.Seconds()), math.Log(highWithout.Seconds()/lowWithout.Seconds()))
}

func TestEmergenceTellsWhenSomethingElseIsWrong(t *testing.T) {
	in := chem.Inputs{Table: printTable(t), Temperature: chem.Measured(20, 0.3),
		Emergence: chem.Emergence{Fresh: 10 * time.Second, FreshAt: 20, Now: []time.Duration{21 * time.Second}}}
	require.Contains(t, chem.Tonight(in).Refusal().String(), "2.1 times later")
	in.Emergence.Now = []time.Duration{4 * time.Second}
	require.Contains(t, chem.Tonight(in).Refusal().String(), "2.5 times sooner")
	in.Emergence.Now, in.Emergence.FreshAt = []time.Duration{12 * time.Second}, 30
	r := chem.Tonight(in)
	require.Contains(t, r.Sentence().String(), "emergence not usable")
	require.InDelta(t, 108, seconds(t, r), 0.01)
	in.Emergence.FreshAt, in.Emergence.Now = 20, []time.Duration{0}
	require.NotContains(t, chem.Tonight(in).Sentence().String(), "emergence")
}

// Story: two developers in one room have two times.
func TestTwoDevelopersTwoTimes(t *testing.T) {
	warm := chem.Inputs{Table: printTable(t), Temperature: chem.Measured(21, 0.3)}
	cold := chem.Inputs{Table: rowR6(t), Temperature: chem.Measured(20, 0.3)}
	first, second := chem.Tonight(warm), chem.Tonight(cold)
	require.InDelta(t, 100.2, seconds(t, first), 0.1)
	require.InDelta(t, 465, seconds(t, second), 0.1)
}

func TestTheTimeIsTheProductOfItsFactors(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		table, err := chem.NewTable("drawn", []chem.Point{{At: 18, Time: 130 * time.Second}, {At: 20, Time: 110 * time.Second},
			{At: 24, Time: 80 * time.Second}})
		require.NoError(t, err)
		c := rapid.Float64Range(18, 24).Draw(t, "temperature")
		used := rapid.Float64Range(0, 1).Draw(t, "used")
		in := chem.Inputs{Table: table, Temperature: chem.Measured(quantity.Celsius(c), 0.1)}
		plain, ok := chem.Tonight(in).Time()
		require.True(t, ok)
		in.Use = chem.BathUse{Used: 1, Capacity: 2, Slowing: used}
		tired, ok := chem.Tonight(in).Time()
		require.True(t, ok)
		require.InEpsilon(t, plain.Seconds()*(1+used/2), tired.Seconds(), 1e-6)
		low, high := chem.Tonight(in).Interval()
		require.Less(t, low, tired)
		require.Greater(t, high, tired)
	})
}
