package simroom_test

import (
	"strings"
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"wetside/sensors/simroom"
)

func TestParseTroubleReadsWhatHelpLists(t *testing.T) {
	for text, want := range map[string]string{
		"pull trays 30s":       "pull trays 30s",
		" GARBLE  Trays 60s ":  "garble trays 1m",
		"flood air 10s":        "flood air 10s",
		"freeze dev 10m":       "freeze DEV 10m",
		"freeze SO2 90m":       "freeze SO2 1h30m",
		"hush co2 20m":         "hush CO2 20m",
		"stick VEL 5m":         "stick VEL 5m",
		"shift STP 40m":        "shift STP 40m",
		"stop fan":             "stop fan",
		"start fan":            "start fan",
		"start fan 2h":         "start fan 2h",
		"trip fan 1m":          "trip fan 1m",
		"block make-up":        "block make-up",
		"block make-up 1h0m1s": "block make-up 1h0m1s",
		"clear make-up":        "clear make-up",
		"block Hood-Left 20m":  "block hood-left 20m",
		"clear hood-right":     "clear hood-right",
		"lift DEV 4m":          "lift DEV 4m",
		"silence duct 1m":      "silence duct 1m",
		"slow air 2m":          "slow air 2m",
		"jacket DEV":           "jacket DEV",
		"people 8":             "people 8",
		"fill trays":           "fill trays",
		"fill FX1":             "fill FX1",
		"empty dev":            "empty DEV",
		"cover STP":            "cover STP",
	} {
		got, err := simroom.ParseTrouble(text)
		require.NoError(t, err, text)
		require.Equal(t, want, got.String())
		again, err := simroom.ParseTrouble(got.String())
		require.NoError(t, err)
		require.Equal(t, got, again)
		verb, _, _ := strings.Cut(want, " ")
		require.Contains(t, simroom.Help(), verb+" ")
	}
}

func TestOneTrayIsFilledCoveredAndEmptiedAlone(t *testing.T) {
	after := func(schedule string) map[string]float64 {
		events, err := simroom.ParseSchedule("0s empty trays; " + schedule)
		require.NoError(t, err)
		var last map[string]float64
		simroom.Play(simroom.Options{Events: events}, 3*time.Minute, func(_ time.Duration, says map[string]float64) { last = says })
		return last
	}
	empty, one, again := after(""), after("1s fill DEV"), after("1s fill DEV; 2s fill FX1; 3s cover DEV; 1m empty DEV")
	require.Greater(t, one["DEV"], empty["DEV"]+1, "the fresh developer is warmer than the air")
	require.InDelta(t, empty["STP"], one["STP"], 0.2)
	require.InDelta(t, empty["DEV"], again["DEV"], 0.3)
	require.NotEqual(t, empty["FX1"], again["FX1"])
}

func TestParseTroubleSaysHowItIsWritten(t *testing.T) {
	for text, want := range map[string]string{
		"":                    `write it like "pull trays 30s"`,
		"break trays 30s":     `"break" is not known here: expected one of pull, garble`,
		"pull":                `write it like "pull trays|air|duct TIME"`,
		"pull trays":          `write it like "pull trays|air|duct TIME"`,
		"pull trays soon":     `write it like "pull trays|air|duct TIME"`,
		"pull trays -5s":      `write it like "pull trays|air|duct TIME"`,
		"pull trays 5s twice": `write it like "pull trays|air|duct TIME"`,
		"pull DEV 5s":         `write it like "pull trays|air|duct TIME"`,
		"lift WSH 5s":         `write it like "lift DEV|STP|FX1|FX2 TIME"`,
		"stop fan 5s":         `write it like "stop fan"`,
		"people many":         `write it like "people NUMBER"`,
		"people -1":           `write it like "people NUMBER"`,
		"people 61":           `write it like "people NUMBER"`,
		"people":              `write it like "people NUMBER"`,
	} {
		_, err := simroom.ParseTrouble(text)
		require.ErrorContains(t, err, want, text)
	}
}

func TestParseScheduleGivesEventsInOrder(t *testing.T) {
	events, err := simroom.ParseSchedule("5m stop fan; 2m pull trays 30s;; 5m people 3")
	require.NoError(t, err)
	require.Len(t, events, 3)
	require.Equal(t, []time.Duration{2 * time.Minute, 5 * time.Minute, 5 * time.Minute},
		[]time.Duration{events[0].At, events[1].At, events[2].At})
	require.Equal(t, "stop fan", events[1].Trouble.String())
	events, err = simroom.ParseSchedule(" ")
	require.NoError(t, err)
	require.Empty(t, events)
	for text, want := range map[string]string{
		"stop fan":          "begin with a time after the start, within a day",
		"25h stop fan":      "within a day",
		"-1s stop fan":      "within a day",
		"5m":                "nothing to do",
		"5m stop the music": `write it like "stop fan"`,
	} {
		_, err := simroom.ParseSchedule(text)
		require.ErrorContains(t, err, want, text)
	}
}

// between plays a room and gives what a probe said from second to second.
func between(t *testing.T, schedule, id string) []float64 {
	events, err := simroom.ParseSchedule("0s start fan; 0s fill trays;" + schedule)
	require.NoError(t, err)
	var says []float64
	simroom.Play(simroom.Options{Seed: 3, Events: events}, 10*time.Minute,
		func(_ time.Duration, v map[string]float64) { says = append(says, v[id]) })
	return says
}

// differ counts how often a probe says another value than a second before.
func differ(says []float64) (n int) {
	for i := 1; i < len(says); i++ {
		if says[i] != says[i-1] {
			n++
		}
	}
	return n
}

func TestAProbeFailsAsItsTroubleSays(t *testing.T) {
	sound := between(t, "", "VEL")
	require.Greater(t, differ(sound[300:480]), 100)
	require.Zero(t, differ(between(t, "5m freeze VEL 3m", "VEL")[300:478]))
	require.Less(t, differ(between(t, "5m hush VEL 3m", "VEL")[300:478]), 3)
	stuck := between(t, "5m stick VEL 3m", "VEL")
	require.Equal(t, 30.0, stuck[400])
	require.InDelta(t, sound[590], stuck[590], 0.2, "it comes back")
	bath := between(t, "5m shift STP 3m", "STP")
	require.InDelta(t, between(t, "", "STP")[400]+2.5, bath[400], 0.3)
}

func FuzzParseSchedule(f *testing.F) {
	f.Add("2m pull trays 30s; 5m stop fan")
	f.Add("0s people 8; 1h block make-up")
	f.Add("-1s start fan 2h;;")
	f.Fuzz(func(t *testing.T, text string) {
		events, err := simroom.ParseSchedule(text)
		if err != nil {
			require.Empty(t, events)
			return
		}
		last := time.Duration(0)
		for _, e := range events {
			require.GreaterOrEqual(t, e.At, last)
			last = e.At
			again, err := simroom.ParseTrouble(e.Trouble.String())
			require.NoError(t, err)
			require.Equal(t, e.Trouble, again)
		}
		require.Less(t, last, 24*time.Hour)
	})
}
