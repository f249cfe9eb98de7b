package chem_test

import (
	"math"
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"wetside/chem"
	"wetside/sensors/quantity/phrase"
)

func factor(t testing.TB, value float64) chem.Factor {
	t.Helper()
	f, err := chem.NewFactor(value, phrase.Say("as published"))
	require.NoError(t, err)
	return f
}

func TestPublishedFactors(t *testing.T) {
	for _, c := range []struct {
		factor, appearance, want float64
		source                   string
	}{
		{10, 30, 300, "V8: The Wellington Photographic Handbook, p. 26, pyro-soda (verified)"},
		{5, 45, 225, "V8: Watkins 1901, pyro-soda 2 grains (verified)"},
		{15, 9, 135, "V8: Cyclopedia of Photography, metol-hydroquinone (verified)"},
		{12, 20, 240, "Practical Photography ch. XVIII, pyro 2.5 grains (verified)"},
		{40, 30, 1200, "Practical Photography, tank, 5/6 grain (verified)"},
	} {
		got, err := factor(t, c.factor).Time(fromSeconds(c.appearance))
		require.NoError(t, err, c.source)
		require.Equal(t, fromSeconds(c.want), got, c.source)
	}
}

func fromSeconds(s float64) time.Duration { return time.Duration(s * float64(time.Second)) }

func TestMixedFactors(t *testing.T) {
	// V9: Cyclopedia of Photography (verified): pyro 6 and metol 30, equal parts
	// 18; pyro 4 parts and metol 2 parts 14.
	for want, share := range map[float64][2]float64{18: {1, 1}, 14: {4, 2}} {
		got, err := chem.Mixed(chem.Share{Factor: factor(t, 6), Parts: share[0]}, chem.Share{Factor: factor(t, 30), Parts: share[1]})
		require.NoError(t, err)
		require.InDelta(t, want, got.Value, 1e-12)
	}
	_, err := chem.Mixed()
	require.Error(t, err)
	_, err = chem.Mixed(chem.Share{Factor: factor(t, 6)})
	require.Error(t, err)
	_, err = chem.Mixed(chem.Share{Factor: factor(t, 6), Parts: math.Inf(1)})
	require.Error(t, err)
}

func TestTheMedianOfSeveralAppearancesCounts(t *testing.T) {
	got, err := factor(t, 10).Time(28*time.Second, 30*time.Second, 60*time.Second)
	require.NoError(t, err)
	require.Equal(t, 300*time.Second, got)
	_, err = factor(t, 10).Time()
	require.True(t, chem.IsRefusal(err))
	_, err = factor(t, 10).Time(0)
	require.True(t, chem.IsRefusal(err))
	_, err = chem.Factor{}.Time(time.Second)
	require.True(t, chem.IsRefusal(err))
	_, err = chem.NewFactor(0.5, phrase.Say("x"))
	require.Error(t, err)
	_, err = chem.NewFactor(5, phrase.Sentence{})
	require.Error(t, err)
}

func TestAPersonHasHisOwnFactor(t *testing.T) {
	s := time.Second
	seen := []chem.Observation{
		{"Ada", 20 * s, 120 * s}, {"Ada", 22 * s, 132 * s}, {"Ada", 18 * s, 108 * s},
		{"Ben", 15 * s, 120 * s}, {"Ben", 0, 120 * s}, {"Ben", 30 * s, 20 * s},
	}
	f, err := chem.FactorOf("Ada", seen)
	require.NoError(t, err)
	require.InDelta(t, 6, f.Value, 1e-9)
	require.Equal(t, "3 prints of Ada", f.Source.String())
	f, err = chem.FactorOf("Ben", seen)
	require.NoError(t, err)
	require.InDelta(t, math.Pow(6*6*6*8, 0.25), f.Value, 1e-9)
	require.Equal(t, "4 prints of everybody", f.Source.String())
	_, err = chem.FactorOf("Ben", seen[4:])
	require.True(t, chem.IsRefusal(err))
}
