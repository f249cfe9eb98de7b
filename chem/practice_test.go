package chem_test

import (
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"wetside/chem"
)

func TestUsefulRangeOfAPrint(t *testing.T) {
	// V11: Clerc s. 556-557 (verified): 140 s full black, 200 s clean, 280 s
	// stained. That 280 s itself is outside is wetside's own rule.
	w := chem.PrintWindow{FullBlack: 140 * time.Second}
	require.Equal(t, 280*time.Second, w.Below())
	for at, want := range map[int]chem.PullVerdict{139: chem.PulledEarly, 140: chem.InWindow, 200: chem.InWindow, 279: chem.InWindow,
		280: chem.TooLong} {
		require.Equal(t, want, w.Judge(time.Duration(at)*time.Second), "%d s", at)
	}
	require.Contains(t, w.Sentence(100*time.Second).String(), "pulled early: full black needs 2:20")
	require.Contains(t, w.Sentence(200*time.Second).String(), "within the useful range, 2:20 to less than 4:40")
	require.Contains(t, w.Sentence(280*time.Second).String(), "too long: from 4:40")
	require.Zero(t, chem.PrintWindow{}.Judge(time.Minute))
	require.Contains(t, chem.PrintWindow{}.Sentence(time.Minute).String(), "not known")
}

func TestFilmReuse(t *testing.T) {
	// The figures are from memory: arithmetic only.
	each := chem.Reuse{Added: 0.1, Every: 1, Most: 10, Source: "unverified"}
	for nth, want := range map[int]float64{1: 1, 2: 1.1, 10: 1.9} {
		got, err := each.Factor(nth)
		require.NoError(t, err)
		require.InDelta(t, want, got, 1e-12)
	}
	_, err := each.Factor(11)
	require.True(t, chem.IsRefusal(err))
	_, err = each.Factor(0)
	require.Error(t, err)
	fours := chem.Reuse{Added: 0.15, Every: 4, Most: 16, Source: "unverified"}
	for nth, want := range map[int]float64{4: 1, 5: 1.15, 16: 1.45} {
		got, err := fours.Factor(nth)
		require.NoError(t, err)
		require.InDelta(t, want, got, 1e-12)
	}
	_, err = chem.Reuse{Added: 0.1, Every: 1, Most: 10}.Factor(1)
	require.ErrorContains(t, err, "source")
}

func TestReplenishment(t *testing.T) {
	r := chem.Replenisher{PerRoll: 20, Source: "unverified"}
	did, err := r.After(3 * chem.FilmRoll().Area)
	require.NoError(t, err)
	require.InDelta(t, 60, float64(did.Add), 1e-9)
	require.Len(t, did.Steps, 4)
	require.Contains(t, did.Steps[1].String(), "60 mL")
	_, err = r.After(0)
	require.Error(t, err)

	// V22: US Army SS0514 (verified): 3 % for 2 idle days, 1 US gal: 3.84 fl oz.
	add, err := chem.Idle{Share: 3, Days: 2}.Add(volume(t, "1gal"), 2)
	require.NoError(t, err)
	require.InDelta(t, 3.84, float64(add/volume(t, "1floz")), 0.1)
	_, err = chem.Idle{}.Add(1000, 2)
	require.Error(t, err)
}

func TestMachineReplenishment(t *testing.T) {
	// V22: Kodak D-32 (verified): 84 ft in 70 s at 2 mL per foot: 144 mL/min.
	const foot = 0.3048
	rate, err := chem.Machine{Path: 84 * foot, Dwell: 70 * time.Second, PerMetre: 2 / foot}.PerMinute()
	require.NoError(t, err)
	require.InDelta(t, 144, float64(rate), 0.1)
	_, err = chem.Machine{}.PerMinute()
	require.Error(t, err)
}

func TestFittedCoefficients(t *testing.T) {
	// V3: derived from Kodak F-32, rows R6, R1, R3.
	for k, minutes := range map[float64][]float64{0.0845: {7.75, 7, 6.5, 5.5}, 0.0654: {6.5, 6, 5.5, 5}, 0.0995: {6, 5.25, 4.75, 4}} {
		require.InDelta(t, k, publishedRow(t, minutes...).Coefficient(), 0.0005)
	}
	require.Zero(t, singlePoint(t, 20, time.Minute).Coefficient())
}

func TestAnOddRowIsDoubted(t *testing.T) {
	// Row R11 beside R5, same film in another size: probably a printing error.
	require.Len(t, publishedRow(t, 7.75, 7.5, 7.25, 6.75).Doubts(), 1)
	for _, minutes := range [][]float64{{8.75, 8, 7.25, 6.25}, {7.75, 7, 6.5, 5.5}, {6.5, 6.5, 6, 5.5}} {
		require.Empty(t, publishedRow(t, minutes...).Doubts())
	}
	require.Empty(t, xrayNormal(t).Doubts())
	require.Empty(t, singlePoint(t, 20, time.Minute).Doubts())
	doubts := publishedRow(t, 7.75, 8.5, 6.5, 5.5).Doubts()
	require.Len(t, doubts, 2)
	require.Contains(t, doubts[0].String(), "21 °C 8:30 is longer than 20 °C 7:45 although it is warmer")
	require.Contains(t, doubts[1].String(), "off the line")
}
