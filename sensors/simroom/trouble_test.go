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
