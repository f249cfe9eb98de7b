package main

import (
	"bytes"
	"encoding/json"
	"io"
	"strings"
	"testing"

	"github.com/alecthomas/kong"
	"github.com/stretchr/testify/require"
)

// answer runs one command line as the program would.
func answer(t *testing.T, arguments ...string) (string, error) {
	t.Helper()
	var commands struct {
		Mix  mixCmd  `cmd:"" help:"Plan or check a mix."`
		Time timeCmd `cmd:"" help:"Work out a development time."`
	}
	var out bytes.Buffer
	parser, err := kong.New(&commands, append(values(), kong.Name("wetside"), kong.Writers(&out, &out), kong.Exit(func(int) {}))...)
	require.NoError(t, err)
	context, err := parser.Parse(arguments)
	if err != nil {
		return out.String(), err
	}
	context.BindTo(&out, (*io.Writer)(nil))
	err = context.Run()
	return out.String(), err
}

func fields(t *testing.T, arguments ...string) map[string]any {
	t.Helper()
	text, err := answer(t, append(arguments, "--json")...)
	require.NoError(t, err)
	var got map[string]any
	require.NoError(t, json.Unmarshal([]byte(text), &got), text)
	return got
}

func requireUnusable(t *testing.T, arguments ...string) string {
	t.Helper()
	_, err := answer(t, arguments...)
	var usage usageError
	require.ErrorAs(t, err, &usage, "%v", arguments)
	require.NotEmpty(t, usage.Error())
	return usage.Error()
}

func TestMixInJSON(t *testing.T) {
	// 64 US fl oz at 1+9 are 6.4 + 57.6 (common practice in teaching rooms); the
	// US fluid ounce is 1/128 of 231 cubic inches.
	const ounce = 29.5735295625
	got := fields(t, "mix", "--parts", "1+9", "--make", "64floz")
	require.InDelta(t, 6.4*ounce, got["concentrate_ml"], 1e-4)
	require.InDelta(t, 57.6*ounce, got["water_ml"], 1e-4)
	require.InDelta(t, 64*ounce, got["total_ml"], 1e-4)
	require.Equal(t, "1+9", got["parts"])

	got = fields(t, "mix", "--parts", "1+9", "--make", "6,4floz")
	require.InDelta(t, 6.4*ounce, got["total_ml"], 1e-4)
	require.Equal(t, 100.0, fields(t, "mix", "--parts", "1+9", "--make", "1L")["concentrate_ml"])
}

func TestMixInWords(t *testing.T) {
	text, err := answer(t, "mix", "--parts", "1+9", "--make", "64floz")
	require.NoError(t, err)
	require.Equal(t, "1+9: 189.3 mL concentrate + 1703.4 mL water = 1892.7 mL\n6.4 + 57.6 = 64 floz\n", text)
}

func TestMixAsksWhichReadingOfAColonIsMeant(t *testing.T) {
	for _, arguments := range [][]string{
		{"mix", "--parts", "1:10", "--make", "1000mL"},
		{"mix", "--parts", "1:10", "--poured", "100mL", "--water", "900mL"},
	} {
		sentence := requireUnusable(t, arguments...)
		require.Contains(t, sentence, "1+9: 100 mL concentrate + 900 mL water = 1000 mL")
		require.Contains(t, sentence, "1+10: 90.9 mL concentrate + 909.1 mL water = 1000 mL")
	}
}

func TestMixSharesHotAndColdWater(t *testing.T) {
	got := fields(t, "mix", "--parts", "1+4", "--make", "1250mL", "--hot", "50C", "--cold", "50F", "--target", "20C")
	require.InDelta(t, 250, got["hot_water_ml"], 1e-6)
	require.InDelta(t, 750, got["cold_water_ml"], 1e-6)
	got = fields(t, "mix", "--parts", "1+4", "--make", "1250mL", "--hot", "50C", "--cold", "24C", "--target", "20C")
	require.NotContains(t, got, "hot_water_ml")
	require.Contains(t, got["refusal"], "24.0 to 50.0 °C")
	text, err := answer(t, "mix", "--parts", "1+4", "--make", "1250mL", "--hot", "50C", "--cold", "10C", "--target", "20C", "--shelf", "20C")
	require.NoError(t, err)
	require.Contains(t, text, "the water: 250 mL hot + 750 mL cold")
}

// Story: a student pours 100 mL and 1000 mL for 1+9.
func TestMixChecksAPour(t *testing.T) {
	got := fields(t, "mix", "--parts", "1+9", "--poured", "100mL", "--water", "1000mL", "--division", "10mL")
	require.InDelta(t, -9.0909, got["error_percent"], 0.001)
	require.Equal(t, "add concentrate", got["remedy"])
	require.InDelta(t, 11.111, got["add_ml"], 0.001)
	got = fields(t, "mix", "--parts", "1+9", "--poured", "100mL", "--water", "1000mL", "--vessel", "1.1L")
	require.Equal(t, "discard and start again", got["remedy"])
	text, err := answer(t, "mix", "--parts", "1+9", "--poured", "100mL", "--water", "900mL")
	require.NoError(t, err)
	require.True(t, strings.HasPrefix(text, "the strength is right: use it\n"), text)
	text, err = answer(t, "mix", "--parts", "1+9", "--poured", "100mL", "--water", "900mL", "--division", "2000mL")
	require.NoError(t, err)
	require.Contains(t, text, "no verdict")
}

func TestMixRefusesUnusableArguments(t *testing.T) {
	for _, arguments := range [][]string{
		{"mix"},
		{"mix", "--parts", "1+9"},
		{"mix", "--make", "1L"},
		{"mix", "--parts", "1+9", "--make", "0mL"},
		{"mix", "--parts", "1+9", "--make=-5mL"},
		{"mix", "--parts", "1+9", "--make", "64"},
		{"mix", "--parts", "1+9", "--make", "64kg"},
		{"mix", "--parts", "strong", "--make", "1L"},
		{"mix", "--parts", "1:10", "--make", "0L"},
		{"mix", "--parts", "1+9", "--make", "1L", "--hot", "50C"},
		{"mix", "--parts", "1+9", "--make", "1L", "--hot", "10C", "--cold", "50C", "--target", "20C"},
		{"mix", "--parts", "1+9", "--poured", "100mL"},
		{"mix", "--parts", "1+9", "--poured", "0mL", "--water", "1L"},
		{"mix", "--parts", "1+9", "--poured", "1mL", "--water", "1L", "--vessel", "x"},
		{"mix", "--parts", "1+9", "--poured", "1mL", "--water", "1L", "--allow", "200"},
	} {
		requireUnusable(t, arguments...)
	}
}

func TestMixSaysWhichArgumentIsMissing(t *testing.T) {
	require.Contains(t, requireUnusable(t, "mix", "--parts", "1+9", "--make", "1L", "--hot", "50C"),
		"--cold is missing: hot and cold water need --hot, --cold and --target together")
	require.Contains(t, requireUnusable(t, "mix", "--parts", "1+9", "--poured", "100mL"), "give --poured and --water")
	require.Contains(t, requireUnusable(t, "mix", "--parts", "1+9", "--make", "1e99L"), "more than 1000 L")
	require.Contains(t, requireUnusable(t, "mix", "--parts", "1+9", "--make", "1,500mL"), "1500 mL or 1.5 mL?")
}

func TestHelpShowsExamples(t *testing.T) {
	require.Contains(t, say(t, "mix", "--help").out, "wetside mix --parts 1+9 --make 64floz")
	require.Contains(t, say(t, "time", "--help").out, "--temp 23C")
}

func TestAPourWithoutTheMarksOfItsGraduatesSaysWhatIsNotCounted(t *testing.T) {
	pour := []string{"mix", "--parts", "1+9", "--poured", "100mL", "--water", "900mL"}
	text, err := answer(t, pour...)
	require.NoError(t, err)
	require.Contains(t, text, "Not counted: how exactly the graduates could be read.")
	text, err = answer(t, append(pour, "--division", "10mL")...)
	require.NoError(t, err)
	require.NotContains(t, text, "Not counted")
	text, err = answer(t, append(pour, "--division", "2000mL")...)
	require.NoError(t, err)
	require.Contains(t, text, "no verdict")
}
