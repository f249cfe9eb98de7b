package main

import (
	"bytes"
	"encoding/json"
	"io"
	"testing"

	"github.com/alecthomas/kong"
	"github.com/stretchr/testify/require"

	"wetside/rules/breathing"
)

// runAir parses a command line as a person writes it and runs it.
func runAir(t testing.TB, args ...string) (string, error) {
	t.Helper()
	var cmd airCmd
	var out bytes.Buffer
	parser, err := kong.New(&cmd, append(values(), kong.Name("air"), kong.Exit(func(int) {}), kong.Writers(&out, &out))...)
	require.NoError(t, err)
	parsed, err := parser.Parse(args)
	if err != nil {
		return out.String(), err
	}
	parsed.BindTo(&out, (*io.Writer)(nil))
	err = parsed.Run()
	return out.String(), err
}

func airJSON(t testing.TB, args ...string) map[string]any {
	t.Helper()
	text, err := runAir(t, append(args, "--json")...)
	require.NoError(t, err)
	var got map[string]any
	require.NoError(t, json.Unmarshal([]byte(text), &got))
	return got
}

func TestAirAnswersInNumbers(t *testing.T) {
	for name, c := range map[string]struct {
		args      []string
		key       string
		want, tol float64
	}{
		// 29 CFR 1910.1000(d)(1)(i), worked example.
		"regulation's average": {[]string{"average", "--window", "8h", "--sample", "2h@150ppm", "--sample", "2h@75ppm", "--sample",
			"4h@50ppm"}, "average", 81.25, 0},
		// 29 CFR 1910.1000(d)(2)(i), worked example B, C, D.
		"regulation's mixture": {[]string{"mixture", "--part", "500/1000", "--part", "45/200", "--part", "40/200"}, "index", 0.925, 1e-9},
		// CDC/MMWR 1994 table S3-1: 6 air changes, 99 %: 46 min.
		"CDC purge": {[]string{"purge", "--changes", "6/h", "--remove", "99%", "--mixing", "1"}, "minutes", 46, 0.5},
		// CDC/MMWR 1994 table S3-1: 12 air changes, 99.9 %: 35 min; mixing defaults to 1.
		"CDC purge, default mixing": {[]string{"purge", "--changes", "12/h", "--remove", "99.9%"}, "minutes", 35, 0.5},
		// Textbook formula, n = Q/V.
		"changes":           {[]string{"changes", "--flow", "254.5m3/h", "--volume", "30m3"}, "air_changes_per_hour", 8.483, 0.001},
		"changes in feet":   {[]string{"changes", "--flow", "150cfm", "--volume", "900ft3"}, "air_changes_per_hour", 10, 1e-9},
		"changes in litres": {[]string{"changes", "--flow", "70.69 L/s", "--volume", "30m3"}, "air_changes_per_hour", 8.483, 0.001},
		"velocity at altitude": {[]string{"velocity", "--pressure", "10Pa", "--temp", "25C", "--altitude", "1500m"}, "metres_per_second",
			4.499, 0.001},
		"density at altitude": {[]string{"velocity", "--pressure", "10Pa", "--temp", "25C", "--altitude", "1500m"}, "air_density_kg_per_m3",
			0.98797, 0.0001},
		"density by pressure": {[]string{"velocity", "--pressure", "10Pa", "--temp", "25C", "--air-pressure", "845.56hPa"},
			"air_density_kg_per_m3", 0.98797, 0.0001},
		"density at sea level": {[]string{"velocity", "--pressure", "1inwg", "--temp", "68F"}, "air_density_kg_per_m3", 1.2041, 0.0001},
	} {
		t.Run(name, func(t *testing.T) {
			require.InDelta(t, c.want, airJSON(t, c.args...)[c.key], c.tol)
		})
	}
}

func TestAirDecayGivesRateWithInterval(t *testing.T) {
	// Points computed from the textbook decay at 10 air changes an hour.
	args := []string{"decay", "--background", "420ppm"}
	for _, p := range []string{"0m=1920ppm", "3m=1329.8ppm", "6m=971.8ppm", "9m=754.7ppm", "12m=623.0ppm", "15m=543.1ppm"} {
		args = append(args, "--point", p)
	}
	got := airJSON(t, args...)
	require.InDelta(t, 10, got["air_changes_per_hour"], 0.01)
	require.Less(t, got["low"], got["air_changes_per_hour"])
	require.Greater(t, got["high"], got["air_changes_per_hour"])
	require.NotContains(t, got, "points_excluded")

	// With readings 50 ppm off, 123 ppm above the background says nothing any more.
	got = airJSON(t, append(args, "--sensor-error", "50ppm")...)
	require.EqualValues(t, 5, got["points_used"])
	require.Len(t, got["points_excluded"], 1)
}

func TestAirAverageTellsWhatIsNotKnown(t *testing.T) {
	args := []string{"average", "--window", "8h", "--sample", "2h@150ppm", "--sample", "4h@75ppm"}
	got := airJSON(t, args...)
	require.Contains(t, got, "average")
	require.Nil(t, got["average"])
	require.InDelta(t, 0.75, got["coverage"], 1e-12)
	require.InDelta(t, 600.0/8, got["low"], 1e-9)
	require.InDelta(t, (600.0+2*150)/8, got["high"], 1e-9)

	for assumption, want := range map[string]float64{"zero": 75, "mean": 100, "worst": 112.5} {
		got := airJSON(t, append(args, "--unsampled", assumption)...)
		require.InDelta(t, want, got["average"], 1e-9, assumption)
		require.InDelta(t, 75, got["low"], 1e-9, assumption)
	}

	full := airJSON(t, "average", "--window", "15m", "--sample", "15 min@25mg/m3")
	require.Equal(t, map[string]any{"average": 25.0, "unit": "mg/m3"}, full)

	text, err := runAir(t, args...)
	require.NoError(t, err)
	require.Equal(t, "Average over 8h: not known. Sampled for 75.0 % of it: between 75 and 112.5 ppm if the rest was zero or as the "+
		"worst sample.\n", text)
	require.Contains(t, new(airAverageCmd).Help(), breathing.Statement().String())
}

func TestAirAverageKeepsBelowDetection(t *testing.T) {
	args := []string{"average", "--window", "8h", "--sample", "8h@<0.1ppm"}
	got := airJSON(t, args...)
	require.Nil(t, got["average"])
	require.InDelta(t, 0, got["low"], 0)
	require.InDelta(t, 0.1, got["high"], 1e-12)
	text, err := runAir(t, args...)
	require.NoError(t, err)
	require.Equal(t, "Average over 8h: below 0.1 ppm.\n", text)
}

func TestAirRefusesTheUnusable(t *testing.T) {
	for name, args := range map[string][]string{
		"zero volume":            {"changes", "--flow", "10m3/h", "--volume", "0m3"},
		"negative volume":        {"changes", "--flow", "10m3/h", "--volume=-3m3"},
		"flow without unit":      {"changes", "--flow", "10", "--volume", "3m3"},
		"all removed":            {"purge", "--changes", "6/h", "--remove", "100%"},
		"nothing removed":        {"purge", "--changes", "6/h", "--remove", "0%"},
		"no changes":             {"purge", "--changes", "0/h", "--remove", "99%"},
		"mixing below perfect":   {"purge", "--changes", "6/h", "--remove", "99%", "--mixing", "0.5"},
		"mixing not a number":    {"purge", "--changes", "6/h", "--remove", "99%", "--mixing", "NaN"},
		"limit of zero":          {"mixture", "--part", "5/0"},
		"negative concentration": {"mixture", "--part=-5/10"},
		"part without limit":     {"mixture", "--part", "5"},
		"ppm beside mg/m3":       {"average", "--window", "8h", "--sample", "4h@5ppm", "--sample", "4h@5mg/m3"},
		"longer than the window": {"average", "--window", "8h", "--sample", "9h@5ppm"},
		"window of zero":         {"average", "--window", "0h", "--sample", "9h@5ppm"},
		"negative sample":        {"average", "--window", "8h", "--sample", "1h@-5ppm"},
		"sample of no time":      {"average", "--window", "8h", "--sample", "0h@5ppm"},
		"sample without time":    {"average", "--window", "8h", "--sample", "5ppm"},
		"more than all air":      {"average", "--window", "8h", "--sample", "1h@2000000ppm"},
		"unknown assumption":     {"average", "--window", "8h", "--sample", "1h@5ppm", "--unsampled", "best"},
		"two decay points":       {"decay", "--background", "420ppm", "--point", "0m=1920ppm", "--point", "3m=1330ppm"},
		"rising decay":           {"decay", "--background", "420ppm", "--point", "0m=500ppm", "--point", "3m=600ppm", "--point", "6m=700ppm"},
		"decay in mixed units":   {"decay", "--background", "420ppm", "--point", "0m=500mg/m3"},
		"exchanged hoses":        {"velocity", "--pressure=-10Pa", "--temp", "25C"},
		"below absolute zero":    {"velocity", "--pressure", "10Pa", "--temp=-300C"},
		"out of the atmosphere":  {"velocity", "--pressure", "10Pa", "--temp", "25C", "--altitude", "50000m"},
		"no air":                 {"velocity", "--pressure", "10Pa", "--temp", "25C", "--air-pressure", "0Pa"},
	} {
		t.Run(name, func(t *testing.T) {
			text, err := runAir(t, args...)
			var usage usageError
			require.ErrorAs(t, err, &usage)
			require.Empty(t, text)
			require.NotContains(t, err.Error(), "\n")
		})
	}
}

func FuzzAirSamples(f *testing.F) {
	for _, seed := range []string{"2h@150ppm", "15 min@<0.1ppm", "1h@25mg/m3", "@", "1h@", "9999999h@1ppm", "1h@1e400ppm"} {
		f.Add(seed)
	}
	f.Fuzz(func(t *testing.T, text string) {
		tape, unit, err := readSamples([]string{text})
		if err != nil {
			return
		}
		require.Positive(t, tape.Length())
		require.Contains(t, []string{"ppm", "mg/m3"}, unit.Symbol())
	})
}

func FuzzAirParts(f *testing.F) {
	for _, seed := range []string{"500/1000", "5/0", "/", "1e300/1e-300"} {
		f.Add(seed)
	}
	f.Fuzz(func(t *testing.T, text string) {
		part, err := parsePart(text)
		if err == nil {
			require.Equal(t, part.Low, part.High)
		}
	})
}
