package daemon

import (
	"encoding/json"
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"wetside/daemon/config"
	"wetside/daemon/history"
	"wetside/rules"
	"wetside/rules/alarm"
	"wetside/sensors"
	"wetside/sensors/clocktest"
)

// TestABoardOfThePastIsTheSameFromAKeptOneAsFromTheBeginning asks for moments in any order in a
// book whose clock was set back, and holds each board against one brought from the beginning.
func TestABoardOfThePastIsTheSameFromAKeptOneAsFromTheBeginning(t *testing.T) {
	clock := clocktest.New(time.Date(2026, 10, 14, 17, 0, 0, 0, time.UTC))
	store, err := history.Open(t.Context(), history.Options{Dir: t.TempDir(), Clock: clock, Zone: time.UTC})
	require.NoError(t, err)
	defer func() { require.NoError(t, store.Close()) }()
	r := &room{config: config.Room{Room: rules.Room{ID: "practice"}}}
	write := func(n int) {
		var entries []history.Entry
		for range n {
			state := alarm.Unacknowledged
			if len(entries)%3 == 2 {
				state = alarm.Normal
			}
			a := alarm.Alarm{ID: string(rune('a' + len(entries)%5)), State: state, Raised: clock.Now().Wall}
			content, err := json.Marshal(rules.Event{Subject: a.ID, To: string(state), Alarm: &a})
			require.NoError(t, err)
			entries = append(entries, history.Entry{Kind: rules.AlarmChange, Room: "practice", Content: content})
		}
		_, err := store.RecordAll(t.Context(), entries)
		require.NoError(t, err)
		clock.Advance(time.Minute)
	}
	begun := clock.Now().Wall
	for i := range 12 {
		write(201 + i)
		if i == 7 {
			clock.Step(-4 * time.Minute)
		}
	}
	b := newBoards(store)
	for _, minute := range []int{30, 2, 7, 5, 3, 8, 4, 0, 30} {
		at := begun.Add(time.Duration(minute)*time.Minute + time.Second)
		kept, err := b.at(t.Context(), r, at)
		require.NoError(t, err)
		whole := opening(r)
		for rec, err := range store.EachTold(t.Context(), history.Query{Kinds: rules.RecalledKinds(), To: at}) {
			require.NoError(t, err)
			whole = rules.Recall(whole, rec)
		}
		require.Equal(t, whole.Memory.Alarms, kept.Memory.Alarms, "%d min", minute)
		kept.Take(sensors.Reading{Channel: "duct", Grade: sensors.Good})
	}
	require.NotEmpty(t, b.rooms["practice"].list)
	again, err := b.at(t.Context(), r, begun.Add(time.Hour))
	require.NoError(t, err)
	require.Empty(t, again.Readings, "what a page puts on its board is on no other")
}
