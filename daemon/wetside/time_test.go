package main

import (
	"os"
	"path/filepath"
	"strings"
	"testing"

	"github.com/stretchr/testify/require"

	"wetside/configs"
)

// The row of Kodak F-32 (verified): 7:45, 7:00, 6:30, 5:30 at 20, 21, 22, 24 °C.
func row(temperature string, more ...string) []string {
	return append([]string{"time", "--at", "20C=7:45", "--at", "21C=7:00", "--at", "22C=6:30", "--at", "24C=5:30", "--temp", temperature},
		more...)
}

func TestTimeInJSON(t *testing.T) {
	for temperature, want := range map[string]float64{"20C": 465, "21C": 420, "22C": 390, "24C": 330, "68F": 465} {
		got := fields(t, row(temperature)...)
		require.Equal(t, want, got["seconds"], temperature)
		require.Equal(t, "table", got["basis"])
		require.Empty(t, got["refusal"])
		require.Less(t, got["low_seconds"], want)
		require.Greater(t, got["high_seconds"], want)
	}
	// sqrt(6.5 x 5.5) min, derived from the same row.
	require.InDelta(t, 358.748, fields(t, row("23C")...)["seconds"], 1)
}

func TestTimeInWords(t *testing.T) {
	text, err := answer(t, row("23C", "--accuracy", "0.2")...)
	require.NoError(t, err)
	require.Equal(t, "5:59 = 7:45 at 20 °C, 23 °C -106 s\nbetween 5:50 and 6:08, from the table; not counted: the age of the developer, "+
		"oxidation, agitation, strength, use\n", text)
}

func TestARefusalIsAnAnswer(t *testing.T) {
	got := fields(t, row("24.6C")...)
	require.Nil(t, got["seconds"])
	require.Contains(t, got, "seconds")
	require.Nil(t, got["low_seconds"])
	require.Nil(t, got["high_seconds"])
	require.Equal(t, "24.6 °C lies above the table's last point, 24.0 °C: cool the bath", got["refusal"])
	text, err := answer(t, row("12C")...)
	require.NoError(t, err)
	require.Contains(t, text, "No time: 12.0 °C is below 15.6 °C (60 °F)")
}

func TestTimeTakesPointsInAnyOrderAndInFahrenheit(t *testing.T) {
	got := fields(t, "time", "--at", "80F=3:15", "--at", "68F=5:00", "--temp", "68F")
	require.Equal(t, 300.0, got["seconds"])
	got = fields(t, "time", "--at", "75F=3:45", "--at", "68F=5:00", "--temp", "24C")
	require.Nil(t, got["seconds"], "75 °F is 23.889 °C, so that 24 °C lies outside")
}

func TestOnePointFallsBackOpenly(t *testing.T) {
	got := fields(t, "time", "--at", "20C=8:00", "--temp", "22C")
	require.Equal(t, "general rule (unverified)", got["basis"])
	require.InDelta(t, 408.2, got["seconds"], 1) // 8 min x exp(-0.162), arithmetic
}

func TestOnePointFarFromTheRuleIsNoTime(t *testing.T) {
	got := fields(t, "time", "--at", "40C=1:00", "--temp", "20C")
	require.Nil(t, got["seconds"])
	require.Contains(t, got["refusal"], "40.0 °C lies outside the general rule's range")
}

func TestTheFloorCanBeLiftedForOtherDevelopers(t *testing.T) {
	points := []string{"time", "--at", "10C=4:00", "--at", "20C=2:00", "--temp", "14C"}
	require.Nil(t, fields(t, points...)["seconds"])
	require.NotNil(t, fields(t, append(points, "--no-hydroquinone")...)["seconds"])
}

func TestTimeRefusesUnusableArguments(t *testing.T) {
	for _, arguments := range [][]string{
		{"time"},
		{"time", "--temp", "20C"},
		{"time", "--at", "20C=7:45"},
		{"time", "--at", "20C=7:45", "--temp", "20"},
		{"time", "--at", "20C=7:45", "--temp", "warm"},
		{"time", "--at", "20C=7:45", "--at", "20C=7:00", "--temp", "20C"},
		{"time", "--at", "20C=0:00", "--temp", "20C"},
		{"time", "--at", "20C=-7:45", "--temp", "20C"},
		{"time", "--at", "7:45", "--temp", "20C"},
		{"time", "--at", "20C=7:45", "--temp", "20C", "--accuracy=-1"},
	} {
		requireUnusable(t, arguments...)
	}
	require.Contains(t, requireUnusable(t, "time", "--at", "20C=9.30", "--temp", "20C"), "9:30 or 9:18")
}

// A time that rises with the temperature is a slip, and the page says so as well.
func TestTimeWarnsOfATableThatRises(t *testing.T) {
	rising := []string{"time", "--at", "20C=5:00", "--at", "24C=7:00", "--temp", "22C"}
	text, err := answer(t, rising...)
	require.NoError(t, err)
	require.Contains(t, text, "check the table: 24 °C 7:00 is longer than 20 °C 5:00 although it is warmer")
	require.NotEmpty(t, fields(t, rising...)["doubts"])
	text, err = answer(t, row("23C")...)
	require.NoError(t, err)
	require.NotContains(t, text, "check the table")
	require.Contains(t, text, "not counted: the age of the developer, oxidation, agitation, strength, use")
}

// Sentences are written as the place of a configuration reads them, and figures for programs never are.
func TestSentencesAreWrittenAsThePlaceReadsThem(t *testing.T) {
	file := filepath.Join(t.TempDir(), "site.toml")
	example, err := os.ReadFile("../../configs/one-room.toml")
	require.NoError(t, err)
	text := strings.Replace(string(example), `temperature = "C"`, `temperature = "F"`, 1)
	require.NoError(t, os.WriteFile(file, []byte(strings.Replace(text, `decimal = "point"`, `decimal = "comma"`, 1)), 0o600))
	t.Setenv("WETSIDE_CONFIG", file)
	told := say(t, row("23C")...)
	require.Contains(t, told.out, "5:59 = 7:45 at 68 °F, 73 °F −106 s")
	// 20.6, 21.4 and 21.7 °C would be 69.1, 70.5 and 71.1 °F
	for typed, back := range map[string]string{"69F": "69,0 °F", "70.5F": "70,5 °F", "71F": "71,0 °F"} {
		require.Contains(t, say(t, row(typed)...).out, "at 68 °F, "+back+" ", "what was typed is told back")
	}
	told = say(t, "air", "purge", "--changes", "7.5/h", "--remove", "95%", "--mixing", "1")
	require.Regexp(t, `^\d+,\d minutes`, told.out)
	require.Contains(t, told.out, "7,5 air changes")
	require.Contains(t, say(t, append(row("23C"), "--json")...).out, `"seconds": 358.748`)
	require.Regexp(t, `"minutes":\d+\.\d`, say(t, "air", "purge", "--changes", "7.5/h", "--remove", "95%", "--mixing", "1", "--json").out)
	t.Setenv("WETSIDE_CONFIG", filepath.Join(t.TempDir(), "none.toml"))
	told = say(t, row("23C")...)
	require.Equal(t, exitUnusable, told.code)
	require.Contains(t, told.errs, "WETSIDE_CONFIG")
}

// 1 L are 33.8 US fluid ounces, of 29.57 mL each (231 cubic inches / 128).
func TestAPlaceOfFluidOuncesReadsAMixInOuncesAndInTheUnitThatWasTyped(t *testing.T) {
	file := filepath.Join(t.TempDir(), "site.toml")
	text := strings.Replace(string(configs.OneRoom), `volume = "mL"`, `volume = "floz"`, 1)
	require.NoError(t, os.WriteFile(file, []byte(text), 0o600))
	t.Setenv("WETSIDE_CONFIG", file)
	require.Equal(t, "1+9: 3.4 US fl oz concentrate + 30.4 US fl oz water = 33.8 US fl oz\n0.1 + 0.9 = 1 L\n",
		say(t, "mix", "--parts", "1+9", "--make", "1L").out)
	asked := say(t, "mix", "--parts", "1:10", "--make", "1L")
	require.Equal(t, exitUnusable, asked.code)
	require.Contains(t, asked.errs, "\n  1+9: 3.4 US fl oz concentrate + 30.4 US fl oz water = 33.8 US fl oz\n", "a question too")
}

func TestTheJSONOfATimeNamesWhatItsIntervalLeavesOut(t *testing.T) {
	got := fields(t, "time", "--at", "20C=7:45", "--at", "24C=5:30", "--temp", "22C")
	require.Contains(t, got["not_counted"], "the age of the developer")
	require.NotContains(t, fields(t, "time", "--at", "20C=7:45", "--at", "24C=5:30", "--temp", "30C"), "not_counted",
		"a refusal has no interval")
}
