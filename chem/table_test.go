package chem_test

import (
	"fmt"
	"math"
	"testing"
	"time"

	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"wetside/chem"
	"wetside/sensors/quantity"
)

// Published rows used as regression data only, never as advice. The films are
// superseded and the Fahrenheit columns were printed as 20, 21, 22, 24 °C.
//
// Source: Eastman Kodak, publication F-32 (web edition), T-MAX films, part 2.
func publishedRow(t testing.TB, minutes ...float64) chem.Table {
	t.Helper()
	points := make([]chem.Point, len(minutes))
	for i, m := range minutes {
		points[i] = chem.Point{At: []quantity.Celsius{20, 21, 22, 24}[i], Time: inMinutes(m)}
	}
	table, err := chem.NewTable("Kodak F-32", points)
	require.NoError(t, err)
	return table
}

func inMinutes(m float64) time.Duration { return time.Duration(math.Round(m * float64(time.Minute))) }

func rowR6(t testing.TB) chem.Table { return publishedRow(t, 7.75, 7, 6.5, 5.5) }

// Manual X-ray film, "normal". Source: US Air Force/Army TO 33B-1-1
// (TM 1-1500-335-23), table 6-16, printed in °F.
func xrayNormal(t testing.TB) chem.Table {
	t.Helper()
	fahrenheit := []float64{63, 65, 68, 70, 72, 76, 80}
	minutes := []float64{6, 5.5, 5, 4.5, 4, 3.75, 3.25}
	points := make([]chem.Point, len(minutes))
	for i := range minutes {
		points[i] = chem.Point{At: quantity.FromFahrenheit(fahrenheit[i]), Time: inMinutes(minutes[i]), Written: chem.InFahrenheit}
	}
	table, err := chem.NewTable("TO 33B-1-1 table 6-16", points)
	require.NoError(t, err)
	return table
}

func TestTablePassesThroughEveryPublishedPoint(t *testing.T) {
	for _, table := range []chem.Table{
		rowR6(t),      // V1: 7:45, 7:00, 6:30, 5:30 (F-32, verified)
		xrayNormal(t), // V6: 6, 5.5, 5, 4.5, 4, 3.75, 3.25 min (TO 33B-1-1, verified)
		publishedRow(t, 6.5, 6.5, 6, 5.5),
	} {
		for _, p := range table.Points() {
			got, err := table.At(p.At)
			require.NoError(t, err)
			require.Equal(t, p.Time, got, p.String())
		}
	}
}

func TestTableInterpolatesTheLogarithm(t *testing.T) {
	got, err := rowR6(t).At(23)
	require.NoError(t, err)
	// V2: sqrt(6.5 x 5.5) = 5.979 min, derived from the F-32 row.
	require.InDelta(t, math.Sqrt(6.5*5.5)*60, got.Seconds(), 1)
}

func TestTableRefusesOutsideItsPoints(t *testing.T) {
	for c, sentence := range map[quantity.Celsius]string{
		24.04: "24.0400 °C lies above the table's last point, 24.0000 °C",
		24.6:  "24.6 °C lies above the table's last point, 24.0 °C",
		19.4:  "19.4 °C lies below the table's first point, 20.0 °C",
	} {
		_, err := rowR6(t).At(c)
		require.EqualError(t, err, sentence)
		require.True(t, chem.IsRefusal(err))
	}
	_, err := xrayNormal(t).At(quantity.FromFahrenheit(82))
	require.EqualError(t, err, "82.0 °F (27.8 °C) lies above the table's last point, 80.0 °F (26.7 °C)")
	_, err = chem.Table{}.At(20)
	require.True(t, chem.IsRefusal(err))
	_, err = rowR6(t).At(quantity.Celsius(math.NaN()))
	require.True(t, chem.IsRefusal(err))
}

func TestNewTableRefusesWhatIsNoTable(t *testing.T) {
	minute := time.Minute
	for name, points := range map[string][]chem.Point{
		"no points":          {},
		"falling":            {{At: 22, Time: minute}, {At: 20, Time: minute}},
		"twice the same":     {{At: 20, Time: minute}, {At: 20, Time: 2 * minute}},
		"no time":            {{At: 20}},
		"negative time":      {{At: 20, Time: -minute}},
		"colder than cold":   {{At: -300, Time: minute}},
		"not a number":       {{At: quantity.Celsius(math.NaN()), Time: minute}},
		"boiling away":       {{At: 140, Time: minute}},
		"longer than a day":  {{At: 20, Time: 25 * time.Hour}},
		"absurdly far apart": {{At: 20, Time: minute}, {At: quantity.Celsius(math.Inf(1)), Time: minute}},
	} {
		_, err := chem.NewTable("a source", points)
		require.Error(t, err, name)
		require.False(t, chem.IsRefusal(err), name)
	}
	require.Equal(t, "Kodak F-32", rowR6(t).Source())
	_, err := chem.NewTable("  ", []chem.Point{{At: 20, Time: minute}})
	require.ErrorContains(t, err, "source")
}

func TestParsePoint(t *testing.T) {
	for text, want := range map[string]chem.Point{
		"20C=7:45":      {At: 20, Time: 465 * time.Second},
		"68F=5:00":      {At: 20, Time: 300 * time.Second, Written: chem.InFahrenheit},
		"24 C = 9.3min": {At: 24, Time: 558 * time.Second},
		"20,5C=580s":    {At: 20.5, Time: 580 * time.Second},
	} {
		got, err := chem.ParsePoint(text)
		require.NoError(t, err, text)
		require.InDelta(t, float64(want.At), float64(got.At), 1e-9, text)
		require.Equal(t, want.Time, got.Time, text)
		require.Equal(t, want.Written, got.Written, text)
	}
	for _, text := range []string{"", "20C", "20=7:45", "C=7:45", "20C=", "20C=0:00", "20C=-1:00", "20C=7:75", "-300C=1:00", "20mL=1:00",
		"20C=9"} {
		_, err := chem.ParsePoint(text)
		require.Error(t, err, text)
	}
}

func TestAPointKeepsItsScale(t *testing.T) {
	p, err := chem.ParsePoint("75F=5:30")
	require.NoError(t, err)
	// V7: 75 °F is 23.889 °C and never 24 (arithmetic).
	require.InDelta(t, 23.889, float64(p.At), 0.001)
	require.Equal(t, "75 °F 5:30", p.String())
	// Whoever writes that column down to two decimals is still at its point; 24 °C is not.
	table, err := chem.NewTable("a row in °F", []chem.Point{{At: quantity.FromFahrenheit(68), Time: 7 * time.Minute,
		Written: chem.InFahrenheit}, p})
	require.NoError(t, err)
	got, err := table.At(23.89)
	require.NoError(t, err)
	require.Equal(t, p.Time, got)
	_, err = table.At(24)
	require.True(t, chem.IsRefusal(err))
}

func TestPointWithPointedTimeIsAskedAbout(t *testing.T) {
	_, err := chem.ParsePoint("20C=9.30")
	var ask *chem.AmbiguousTimeError
	require.ErrorAs(t, err, &ask)
	require.Equal(t, []time.Duration{570 * time.Second, 558 * time.Second}, ask.Readings)
	require.ErrorContains(t, err, `"9.30" may mean minutes and seconds or a fraction of a minute: write 9:30 or 9:18, or a unit as in `+
		`"9.30min"`)
}

func TestInterpolationIsMonotoneWhereThePointsAre(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		n := rapid.IntRange(2, 6).Draw(t, "points")
		at, seconds := rapid.Float64Range(15, 20).Draw(t, "first"), rapid.Float64Range(600, 1200).Draw(t, "longest")
		var points []chem.Point
		for range n {
			points = append(points, chem.Point{At: quantity.Celsius(at), Time: time.Duration(seconds * float64(time.Second))})
			at += rapid.Float64Range(0.2, 3).Draw(t, "step")
			seconds *= rapid.Float64Range(0.7, 1).Draw(t, "ratio")
		}
		table, err := chem.NewTable("drawn", points)
		require.NoError(t, err)
		a := rapid.Float64Range(float64(points[0].At), float64(points[n-1].At)).Draw(t, "a")
		b := rapid.Float64Range(a, float64(points[n-1].At)).Draw(t, "b")
		atA, errA := table.At(quantity.Celsius(a))
		atB, errB := table.At(quantity.Celsius(b))
		require.NoError(t, errA)
		require.NoError(t, errB)
		require.GreaterOrEqual(t, atA+time.Microsecond, atB)
		for _, p := range points {
			got, err := table.At(p.At)
			require.NoError(t, err)
			require.InDelta(t, p.Time.Seconds(), got.Seconds(), 0.001)
		}
	})
}

func FuzzParsePoint(f *testing.F) {
	for _, s := range []string{"20C=7:45", "68F=5:00", "20C=9.30", "=", "1e9C=1s", "20C=1m2s"} {
		f.Add(s)
	}
	f.Fuzz(func(t *testing.T, text string) {
		p, err := chem.ParsePoint(text)
		if err != nil {
			require.NotEmpty(t, err.Error())
			return
		}
		require.Positive(t, p.Time)
		require.GreaterOrEqual(t, float64(p.At), -273.15-1e-9)
	})
}

func ExampleTable_At() {
	var points []chem.Point
	for _, text := range []string{"20C=7:45", "21C=7:00", "22C=6:30", "24C=5:30"} {
		p, err := chem.ParsePoint(text)
		if err != nil {
			fmt.Println(err)
			return
		}
		points = append(points, p)
	}
	table, err := chem.NewTable("printed on the box", points)
	if err != nil {
		fmt.Println(err)
		return
	}
	t, err := table.At(23)
	fmt.Println(chem.MinutesSeconds(t), err)
	_, err = table.At(24.6)
	fmt.Println(err)
	// Output:
	// 5:59 <nil>
	// 24.6 °C lies above the table's last point, 24.0 °C
}
