package rules_test

import (
	"encoding/json"
	"math"
	"strings"
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"wetside/rules"
	"wetside/rules/record"
	"wetside/rules/ventilation"
	"wetside/sensors"
)

// asks is a row that the place decides on; the room of the stories asks for six changes.
func asks(value float64) rules.RequireAir {
	return rules.RequireAir{Asked: ventilation.AirChangeRate, Value: value, Amendment: rules.Amendment{Source: "decision of the place",
		Edition: "minutes of 1 October"}}
}

func demand(room rules.Room, board rules.Board, at time.Time) rules.AirView {
	s, _, _ := rules.Evaluate(room, board, sensors.Instant{Wall: at})
	return s.Air
}

func TestARowThatIsEnteredTakesThePlaceOfTheFilesFromItsDayOn(t *testing.T) {
	room, now := storyRoom(), noon()
	later := asks(12)
	later.Effective = now.Wall.AddDate(0, 0, 10)
	board, err := enter(room, rules.NewBoard(), later, now)
	require.NoError(t, err)

	air := demand(room, board, now.Wall)
	require.InDelta(t, 6, float64(air.Required), 1e-9, "until its day the row of the file holds")
	require.Len(t, air.Rows, 2)
	require.True(t, air.Rows[0].Until.Equal(later.Effective))
	require.False(t, air.Rows[1].InForce)
	require.Equal(t, uint64(41), air.Rows[1].Record)
	air = demand(room, board, later.Effective)
	require.InDelta(t, 12, float64(air.Required), 1e-9)
	require.Len(t, air.Rows, 1, "a row that is over is not shown")

	board, err = enter(room, board, asks(8), now)
	require.NoError(t, err)
	require.InDelta(t, 8, float64(demand(room, board, now.Wall).Required), 1e-9)
	require.InDelta(t, 12, float64(demand(room, board, later.Effective).Required), 1e-9, "what is to come still comes")

	again := rules.NewBoard()
	for _, act := range []rules.RequireAir{later, asks(8)} {
		content, err := json.Marshal(act)
		require.NoError(t, err)
		require.Contains(t, rules.RecalledKinds(), act.Kind())
		again = rules.Recall(again, record.Record{Kind: act.Kind(), Number: 41, Person: "Ada", At: now.Wall, Content: content})
	}
	require.Equal(t, demand(room, board, now.Wall).Rows, demand(room, again, now.Wall).Rows, "after a restart the same is asked")
	require.InDelta(t, 6, float64(demand(room, rules.NewBoard(), now.Wall).Required), 1e-9, "the room itself was not changed")
}

func TestARowIsTakenOffForAReason(t *testing.T) {
	room, now := storyRoom(), noon()
	off := asks(0)
	off.Off = true
	_, err := enter(room, rules.NewBoard(), off, now)
	require.ErrorContains(t, err, "reason is missing")
	off.Why = "the code asks for more"
	board, err := enter(room, rules.NewBoard(), off, now)
	require.NoError(t, err)
	require.Empty(t, demand(room, board, now.Wall).Rows)
	require.Equal(t, ventilation.ByCommissioning, demand(room, board, now.Wall).Limits.Basis, "the traverse alone judges then")
	_, err = enter(room, board, off, now)
	require.ErrorContains(t, err, "there is no requirement of air changes")

	room.Commissioned = rules.Commissioned{}
	_, err = enter(room, rules.NewBoard(), off, now)
	require.ErrorContains(t, err, "then no ventilation would be required")
	other := asks(1)
	other.Source, other.Asked, other.Value = "invented code", ventilation.FloorFlow, 5.08
	board, err = enter(room, rules.NewBoard(), other, now)
	require.NoError(t, err)
	board, err = enter(room, board, off, now)
	require.NoError(t, err)
	// 5.08 L/s for each of 12 m² in 30 m³, arithmetic.
	require.InDelta(t, 5.08*12*3.6/30, float64(demand(room, board, now.Wall).Required), 1e-9)
}

func TestARowThatCantBeJudgedByIsRefused(t *testing.T) {
	for want, spoil := range map[string]func(*rules.RequireAir){
		"source is missing":    func(a *rules.RequireAir) { a.Source = " " },
		"source is too long":   func(a *rules.RequireAir) { a.Source = strings.Repeat("x", 201) },
		"more than zero":       func(a *rules.RequireAir) { a.Value = 0 },
		"(decision of the":     func(a *rules.RequireAir) { a.Value = math.NaN() },
		"solution surface":     func(a *rules.RequireAir) { a.Asked = ventilation.SurfaceFlow },
		"unknown kind":         func(a *rules.RequireAir) { a.Asked = "wishes" },
		"at most 200 %":        func(a *rules.RequireAir) { a.Asked, a.Value = ventilation.MakeUpShare, 201 },
		"check the year":       func(a *rules.RequireAir) { a.Effective = time.Date(2226, 1, 1, 0, 0, 0, 0, time.UTC) },
		"check the unit":       func(a *rules.RequireAir) { a.Value = 1e5 },
		"more than zero ":      func(a *rules.RequireAir) { a.Value = -6 },
		"check the year ":      func(a *rules.RequireAir) { a.Effective = time.Date(226, 1, 1, 0, 0, 0, 0, time.UTC) },
		"edition is too long:": func(a *rules.RequireAir) { a.Edition = strings.Repeat("x", 201) },
	} {
		a := asks(6)
		spoil(&a)
		_, err := enter(storyRoom(), rules.NewBoard(), a, noon())
		require.ErrorContains(t, err, strings.TrimSpace(want))
	}
	share := asks(90)
	share.Asked = ventilation.MakeUpShare
	_, err := enter(storyRoom(), rules.NewBoard(), share, noon())
	require.NoError(t, err, "a share of the exhaust asks for no flow by itself")
}
