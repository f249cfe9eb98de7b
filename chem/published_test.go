package chem_test

import (
	"math"
	"testing"

	"github.com/stretchr/testify/require"

	"wetside/chem"
	"wetside/sensors/quantity"
)

// Every readable row of Kodak F-32 (verified): minutes at 20, 21, 22 and 24 °C, the
// slope of ln t fitted to them, and by how many per cent the general rule misses them
// at the worst. The last two columns are derived from the first four, by hand.
func TestEveryRowOfTheFilmSheetIsGivenBack(t *testing.T) {
	for name, row := range map[string]struct {
		minutes   []float64
		k, missed float64
		doubted   bool
	}{
		"R1":  {[]float64{6.5, 6, 5.5, 5}, 0.065, -6.0, false},
		"R3":  {[]float64{6, 5.25, 4.75, 4}, 0.100, 8.5, false},
		"R5":  {[]float64{8.75, 8, 7.25, 6.25}, 0.084, 2.6, false},
		"R6":  {[]float64{7.75, 7, 6.5, 5.5}, 0.085, 2.1, false},
		"R7":  {[]float64{7, 6.5, 6, 5.25}, 0.072, -3.6, false},
		"R9":  {[]float64{6.5, 6, 5.5, 5.5}, 0.041, -14.5, false},
		"R10": {[]float64{6.5, 6.5, 6, 5.5}, 0.045, -14.5, false},
		"R11": {[]float64{7.75, 7.5, 7.25, 6.75}, 0.035, -17.0, true},
	} {
		table := publishedRow(t, row.minutes...)
		for i, at := range []quantity.Celsius{20, 21, 22, 24} {
			got, err := table.At(at)
			require.NoError(t, err, name)
			require.Equal(t, inMinutes(row.minutes[i]), got, "%s at %v °C", name, at)
		}
		require.InDelta(t, row.k, table.Coefficient(), 0.0006, name)
		worst := 0.0
		for i, at := range []quantity.Celsius{20, 21, 22, 24} {
			general := chem.Tonight(chem.Inputs{Table: singlePoint(t, 20, inMinutes(row.minutes[0])), Temperature: chem.Measured(at, 0.2)})
			if miss := (seconds(t, general)/60/row.minutes[i] - 1) * 100; math.Abs(miss) > math.Abs(worst) {
				worst = miss
				require.Contains(t, general.Sentence().String(), "general rule", "a fallback is called one")
			}
		}
		require.InDelta(t, row.missed, worst, 0.1, name)
		require.Equal(t, row.doubted, len(table.Doubts()) > 0, name)
	}
}

// Pairs at 20 and 24 °C of one film developer (secondary: a personal transcription headed
// with the maker's name, which prints 9.30 for 9 min 30 s). Slopes are derived from them.
func TestPairsOfOneDeveloperHaveSlopesOfTheirOwn(t *testing.T) {
	for _, pair := range []struct {
		at20, at24 string
		k          float64
	}{{"9:00", "7:00", 0.063}, {"10:00", "8:00", 0.056}, {"12:00", "9:00", 0.072}, {"8:00", "5:30", 0.094}, {"18:00", "13:00", 0.081},
		{"10:00", "7:00", 0.089}, {"8:00", "5:00", 0.118}} {
		var points []chem.Point
		for _, text := range []string{"20C=" + pair.at20, "24C=" + pair.at24} {
			p, err := chem.ParsePoint(text)
			require.NoError(t, err)
			points = append(points, p)
		}
		table, err := chem.NewTable("a personal transcription", points)
		require.NoError(t, err)
		require.InDelta(t, pair.k, table.Coefficient(), 0.0006, pair)
		// Halfway the time is the geometric mean of the pair.
		half, err := table.At(22)
		require.NoError(t, err)
		require.InDelta(t, points[0].Time.Seconds()*points[1].Time.Seconds(), half.Seconds()*half.Seconds(), 30, pair)
	}
	_, err := chem.ParsePoint("24C=5.30")
	require.ErrorContains(t, err, "5:30")
}

// Manual X-ray film, "maximum": TO 33B-1-1, table 6-16 (verified); its slope, and that
// of the normal row, derived from it.
func TestTheSlopesOfXRayFilm(t *testing.T) {
	require.InDelta(t, 0.065, xrayNormal(t).Coefficient(), 0.0006)
	at72 := chem.Tonight(chem.Inputs{Table: xrayNormal(t), Temperature: chem.Measured(quantity.FromFahrenheit(72.04), 0)})
	require.Equal(t, "4:00 = 5:00 at 68 °F, 72 °F -60 s", at72.Sentence().String(), "told in the scale in which it was printed")
	var points []chem.Point
	minutes := []float64{9, 8.5, 8, 7.5, 7, 6.75, 6.25}
	for i, f := range []float64{63, 65, 68, 70, 72, 76, 80} {
		points = append(points, chem.Point{At: quantity.FromFahrenheit(f), Time: inMinutes(minutes[i]), Written: chem.InFahrenheit})
	}
	maximum, err := chem.NewTable("TO 33B-1-1 table 6-16", points)
	require.NoError(t, err)
	require.InDelta(t, 0.039, maximum.Coefficient(), 0.0006)
	for i, p := range points {
		got, err := maximum.At(p.At)
		require.NoError(t, err)
		require.Equal(t, inMinutes(minutes[i]), got)
	}
}
