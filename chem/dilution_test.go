package chem_test

import (
	"fmt"
	"testing"

	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"wetside/chem"
	"wetside/sensors/quantity"
)

func parts(t testing.TB, text string) chem.Parts {
	t.Helper()
	p, err := chem.ParseParts(text)
	require.NoError(t, err)
	return p
}

func volume(t testing.TB, text string) quantity.Millilitre {
	t.Helper()
	v, err := quantity.ParseMillilitre(text)
	require.NoError(t, err)
	return v
}

func TestPlansForTheTwoCommonVolumes(t *testing.T) {
	ounce, err := quantity.ParseUnit("floz")
	require.NoError(t, err)
	for _, c := range []struct{ parts, total, concentrate, water, source string }{
		{"1+9", "64floz", "6.4floz", "57.6floz", "common practice in teaching rooms: a class"},
		{"1+9", "48floz", "4.8floz", "43.2floz", "common practice in teaching rooms: one person"},
		{"1+9", "20floz", "2floz", "18floz", "V12, secondary: a worked 20 fl oz tank on a public note"},
		{"1+9", "1000mL", "100mL", "900mL", "V12, arithmetic"},
		{"1+4", "1000mL", "200mL", "800mL", "V12, arithmetic"},
	} {
		plan, err := parts(t, c.parts).Plan(volume(t, c.total))
		require.NoError(t, err, c.source)
		require.InDelta(t, float64(volume(t, c.concentrate)), float64(plan.Concentrate), 1e-9, c.source)
		require.InDelta(t, float64(volume(t, c.water)), float64(plan.Water), 1e-9, c.source)
	}
	plan, err := parts(t, "1+9").Plan(volume(t, "64floz"))
	require.NoError(t, err)
	require.Equal(t, "6.4 + 57.6 = 64 floz", plan.In(ounce))
}

func TestABareColonRatioShowsBothReadings(t *testing.T) {
	_, err := chem.ParseParts("1:10")
	var colon *chem.ColonRatioError
	require.ErrorAs(t, err, &colon)
	plans, err := colon.For(1000)
	require.NoError(t, err)
	require.Len(t, plans, 2)
	require.Equal(t, "1+9: 100 mL concentrate + 900 mL water = 1000 mL", plans[0].String())
	require.Equal(t, "1+10: 90.9 mL concentrate + 909.1 mL water = 1000 mL", plans[1].String())
	_, err = colon.For(0)
	require.Error(t, err)

	_, err = chem.ParseParts("2:1")
	require.ErrorAs(t, err, &colon)
	require.Equal(t, []chem.Parts{{Concentrate: 2, Water: 1}}, colon.Readings())
	require.EqualError(t, colon, `"2:1" does not say what its parts are: write 2+1`)
}

func TestParsePartsRefusesWhatIsNoDilution(t *testing.T) {
	for _, text := range []string{"", "+", "1+", "+9", "0+9", "-1+9", "1+-9", "1++9", "1+2+3", "1e2+9", "ten", "1/9", "1:", ":", "0:10",
		"1:2:3", "1+99999"} {
		_, err := chem.ParseParts(text)
		require.Error(t, err, text)
		var colon *chem.ColonRatioError
		require.NotErrorAs(t, err, &colon, text)
	}
	require.Equal(t, chem.Parts{Concentrate: 1, Water: 9.5}, parts(t, " 1 + 9,5 "))
	require.Equal(t, "1+0", parts(t, "1+0").String())
}

func TestPlanRefusesWhatCannotBeMixed(t *testing.T) {
	for _, total := range []quantity.Millilitre{0, -1} {
		_, err := parts(t, "1+9").Plan(total)
		require.ErrorContains(t, err, "more than zero")
	}
	_, err := chem.Parts{}.Plan(100)
	require.ErrorContains(t, err, "no dilution")
}

func TestMixingConservesVolumeAndSolute(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		p, err := chem.NewParts(rapid.Float64Range(0.1, 20).Draw(t, "concentrate"), rapid.Float64Range(0, 100).Draw(t, "water"))
		require.NoError(t, err)
		total := quantity.Millilitre(rapid.Float64Range(1, 1e5).Draw(t, "total"))
		plan, err := p.Plan(total)
		require.NoError(t, err)
		require.InEpsilon(t, float64(total), float64(plan.Concentrate+plan.Water), 1e-12)
		require.InEpsilon(t, float64(plan.Concentrate), float64(p.Strength())*float64(total), 1e-12)
	})
}

func TestPercentSolutions(t *testing.T) {
	// V13: 32 fl oz of 28 % from 99.5 % takes 32 x 28 / 99.5 = 9.005 fl oz
	// (US Army SS0513, verified; printed as 9.0 and 23 water).
	plan, err := chem.PercentPlan(99.5, 28, volume(t, "32floz"))
	require.NoError(t, err)
	ounce := float64(volume(t, "1floz"))
	require.InDelta(t, 9.005, float64(plan.Concentrate)/ounce, 0.01)
	require.InDelta(t, 23, float64(plan.Water)/ounce, 0.01)
	// V14: 3 parts of 99.5 % + 8 of water is 27.14 % by volume (Kodak,
	// Radiography in Modern Industry, p. 139, verified: "approximately 28 %").
	require.InDelta(t, 27.14, 99.5*float64(chem.Parts{Concentrate: 3, Water: 8}.Strength()), 0.05)

	for _, c := range []struct{ stock, wanted quantity.Percent }{{0, 1}, {101, 1}, {28, 30}, {28, 0}, {-5, 1}} {
		_, err := chem.PercentPlan(c.stock, c.wanted, 100)
		require.Error(t, err)
	}
}

func FuzzParseParts(f *testing.F) {
	for _, s := range []string{"1+9", "1:10", "1 + 9,5", "2:1", "1+0", "1e9+1", ",+."} {
		f.Add(s)
	}
	f.Fuzz(func(t *testing.T, text string) {
		p, err := chem.ParseParts(text)
		if err != nil {
			require.NotEmpty(t, err.Error())
			return
		}
		require.Positive(t, p.Concentrate)
		require.GreaterOrEqual(t, p.Water, 0.0)
		again, err := chem.ParseParts(p.String())
		require.NoError(t, err)
		require.InDelta(t, float64(p.Strength()), float64(again.Strength()), 1e-3+0.6*float64(p.Strength()))
	})
}

func ExampleParseParts() {
	p, err := chem.ParseParts("1+9")
	if err != nil {
		fmt.Println(err)
		return
	}
	plan, err := p.Plan(1000)
	fmt.Println(plan, err)
	_, err = chem.ParseParts("1:10")
	fmt.Println(err)
	// Output:
	// 1+9: 100 mL concentrate + 900 mL water = 1000 mL <nil>
	// "1:10" does not say what its parts are: write 1+9 or 1+10
}
