package rules_test

import (
	"encoding/json"
	"math"
	"testing"
	"time"

	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"wetside/rules"
	"wetside/rules/record"
	"wetside/sensors"
)

// FuzzRecall: no record of a book, however damaged, may end the program or leave a
// board that can't be evaluated.
func FuzzRecall(f *testing.F) {
	for _, k := range []struct{ kind, content string }{
		{"tray filled", `{"bath":"dev","what":"developer"}`}, {"tray emptied", `{"bath":"dev"}`},
		{"tray covered", `{"bath":"dev","covered":true}`},
		{"alarm acknowledged", `{"alarm":"air"}`}, {"alarm shelved", `{"alarm":"air","until":"2026-10-14T20:00:00Z","why":"x"}`},
		{"alarm", `{"alarm":{"id":"air","state":"unacknowledged"}}`}, {"alarm", `{"alarm":{"id":"air","state":"melted"}}`},
		{"fan run", `{"run":{"Start":"2026-10-14T18:00:00Z","Stop":"2026-10-14T20:00:00Z"}}`}, {"fan run", `{"run":null}`},
		{"session", `{"session":{"phase":"open","tally":{"watched_ns":-5}}}`}, {"session counts", `{"session":{}}`},
		{"session started", `{"phase":"open"}`}, {"session ended", `{"phase":"closed"}`},
		{"time announced", `{"bath":"dev","seconds":1e300}`}, {"unheard of", `[`},
	} {
		f.Add(k.kind, []byte(k.content))
	}
	room := storyRoom()
	f.Fuzz(func(t *testing.T, kind string, content []byte) {
		at := time.Date(2026, 10, 14, 18, 0, 0, 0, time.UTC)
		board := rules.Recall(rules.NewBoard(), record.Record{Kind: kind, Number: 1, Person: "Ada", At: at, Content: json.RawMessage(content)})
		s, memory, _ := rules.Evaluate(room, board, sensors.Instant{Wall: at, Mono: time.Second})
		board.Memory = memory
		again, _, events := rules.Evaluate(room, board, sensors.Instant{Wall: at.Add(time.Minute), Mono: time.Minute})
		require.Len(t, s.Baths, len(room.Baths))
		require.Equal(t, s.Room, again.Room)
		for _, e := range events {
			_, err := json.Marshal(e)
			require.NoError(t, err, "what the rules record can be written down")
		}
	})
}

// TestNothingShownIsEverNoNumber plays any readings, also impossible ones, and looks
// at every number that a page would show.
func TestNothingShownIsEverNoNumber(t *testing.T) {
	room := storyRoom()
	rapid.Check(t, func(t *rapid.T) {
		board := rules.NewBoard()
		board = holds(board, "dev", rules.Portion{Record: 1, What: "x", By: "Ada"})
		now := sensors.Instant{Wall: time.Date(2026, 10, 14, 18, 0, 0, 0, time.UTC)}
		for range rapid.IntRange(1, 40).Draw(t, "turns") {
			d := time.Duration(rapid.IntRange(0, 90).Draw(t, "seconds")) * time.Second
			now.Mono, now.Wall = now.Mono+d, now.Wall.Add(d)
			for _, c := range room.Channels {
				if !rapid.Bool().Draw(t, "speaks") {
					continue
				}
				r := sensors.Reading{Channel: c.ID, At: now, Grade: rapid.SampledFrom([]sensors.Grade{sensors.Suspect, sensors.Good}).Draw(t,
					"grade"), Value: math.NaN()}
				if r.Grade == sensors.Good {
					r.Value = rapid.Float64Range(c.Plausible.Low, c.Plausible.High).Draw(t, "value")
				}
				board.Take(r)
			}
			s, memory, _ := rules.Evaluate(room, board, now)
			board.Memory = memory
			checkNumbers(t, s)
		}
	})
}

func checkNumbers(t require.TestingT, s *rules.Snapshot) {
	number := func(v float64, what string) { require.False(t, math.IsNaN(v) || math.IsInf(v, 0), what) }
	for _, b := range s.Baths {
		if c, ok := b.Temperature(); ok {
			number(float64(c), "temperature")
			require.Equal(t, sensors.Good, b.Channel.Grade)
		} else {
			require.Nil(t, b.Trend, "no trend without a reading")
			require.Equal(t, rules.Forecast{}, b.Forecast)
		}
		if b.Trend != nil {
			number(*b.Trend, "trend")
		}
		if d, ok := b.Recommendation.Time(); ok {
			require.Positive(t, d)
			require.NotNil(t, b.Portion, "no time without a batch")
		}
	}
	if s.Air.Flow != nil {
		number(float64(*s.Air.Flow), "flow")
		number(float64(*s.Air.AirChanges), "air changes")
	} else {
		require.False(t, s.Air.State.Known(), "%s", s.Air.State)
	}
	if s.Purge != nil {
		number(float64(s.Purge.Removed), "removed")
	}
	for _, g := range s.Breathing {
		for _, f := range g.Findings {
			number(f.Average.Low, "average")
			number(f.Average.High, "average")
			number(f.Average.Coverage, "coverage")
		}
	}
	if s.Session.Coverage != nil {
		number(*s.Session.Coverage, "coverage")
	}
}
