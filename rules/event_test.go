package rules_test

import (
	"encoding/json"
	"testing"
	"time"

	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"wetside/rules"
	"wetside/rules/alarm"
	"wetside/sensors/quantity/phrase"
)

// TestAnEventIsReadAsJSONReadsIt holds the short way of reading an alarm against the common one,
// over events as they are written and over texts that somebody changed.
func TestAnEventIsReadAsJSONReadsIt(t *testing.T) {
	text := rapid.SampledFrom([]string{"", "air", "Ada", "20.0 °C", `a "quoted" word`, "a\\b", "<5 ppm", "two\nlines", "\u2028"})
	moment := rapid.Custom(func(t *rapid.T) time.Time {
		return rapid.SampledFrom([]time.Time{{}, time.Date(2026, 3, 1, 18, 0, 0, 120e6, time.UTC)}).Draw(t, "moment")
	})
	changed := rapid.SliceOfN(rapid.SampledFrom([]byte(`"\{}:, 0T`+"\x00\xff")), 0, 2)
	rapid.Check(t, func(t *rapid.T) {
		say := func(name string) phrase.Sentence { return phrase.Plain(text.Draw(t, name)) }
		e := rules.Event{Subject: text.Draw(t, "subject"), From: "normal", To: text.Draw(t, "to"), Cause: text.Draw(t, "cause"),
			Begun: moment.Draw(t, "begun")}
		if rapid.Bool().Draw(t, "alarm") {
			e.Alarm = &alarm.Alarm{ID: text.Draw(t, "id"), State: alarm.Acknowledged, Text: say("text"), Act: say("act"), Cause: say("why"),
				Urgent: rapid.Bool().Draw(t, "urgent"), Since: moment.Draw(t, "since"), Raised: moment.Draw(t, "raised"),
				By: text.Draw(t, "by"), Note: text.Draw(t, "note"), Screen: text.Draw(t, "screen"), Until: moment.Draw(t, "until")}
		}
		content, err := json.Marshal(e)
		require.NoError(t, err)
		for _, b := range changed.Draw(t, "changed") {
			content[rapid.IntRange(0, len(content)-1).Draw(t, "at")] = b
		}
		var want rules.Event
		wrong := json.Unmarshal(content, &want)
		got, err := rules.ReadEvent(content)
		require.Equal(t, wrong, err, string(content))
		require.Equal(t, want, got, string(content))
	})
}

// BenchmarkReadEvent reads the change of an alarm as the program writes it.
func BenchmarkReadEvent(b *testing.B) {
	content, err := json.Marshal(rules.Event{Subject: "air", From: "normal", To: "unacknowledged",
		Alarm: &alarm.Alarm{ID: "air", State: alarm.Unacknowledged, Text: phrase.Plain("The air does not move enough")}})
	require.NoError(b, err)
	for b.Loop() {
		_, err = rules.ReadEvent(content)
	}
	require.NoError(b, err)
}
