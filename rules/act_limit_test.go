package rules_test

import (
	"encoding/json"
	"math"
	"strings"
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"wetside/rules"
	"wetside/rules/breathing"
	"wetside/rules/record"
	"wetside/sensors"
)

// newEdition of the long-term limit of the room of the stories halves it.
func newEdition() rules.LimitGas {
	return rules.LimitGas{Agent: "acetic acid", Jurisdiction: "niosh", Limit: breathing.LongTerm, Minutes: 480, Value: 5, Unit: "ppm",
		Standing:  breathing.Unverified,
		Amendment: rules.Amendment{Source: "invented list", Edition: "2027"}}
}

func limitsAt(room rules.Room, board rules.Board, at time.Time) []breathing.Limit {
	s, _, _ := rules.Evaluate(room, board, sensors.Instant{Wall: at})
	return s.Breathing[0].Limits
}

func TestALimitThatIsEnteredTakesThePlaceOfItsEarlierEditionFromItsDayOn(t *testing.T) {
	room, now := storyRoom(), noon()
	later := newEdition()
	later.Effective = now.Wall.AddDate(0, 0, 10)
	board, err := enter(room, rules.NewBoard(), later, now)
	require.NoError(t, err)
	rows := limitsAt(room, board, now.Wall)
	require.Len(t, rows, 3, "the two of the file and the one to come")
	require.True(t, rows[0].Until.Equal(later.Effective))
	require.True(t, rows[0].Holds(now.Wall))
	require.False(t, rows[2].Holds(now.Wall))
	require.Equal(t, uint64(41), rows[2].Record)
	rows = limitsAt(room, board, later.Effective)
	require.Len(t, rows, 2)
	require.InDelta(t, 5, rows[1].Value, 1e-12)

	content, err := json.Marshal(later)
	require.NoError(t, err)
	require.Contains(t, rules.RecalledKinds(), later.Kind())
	again := rules.Recall(rules.NewBoard(), record.Record{Kind: later.Kind(), Number: 41, Person: "Ada", At: now.Wall, Content: content})
	require.Equal(t, limitsAt(room, board, now.Wall), limitsAt(room, again, now.Wall), "after a restart the same holds")
	require.Len(t, limitsAt(room, rules.NewBoard(), now.Wall), 2, "the room itself was not changed")
}

func TestTheLastLimitMayBeTakenOffAndItIsSaid(t *testing.T) {
	room, now, board := storyRoom(), noon(), rules.NewBoard()
	for _, kind := range []struct {
		limit   breathing.LimitKind
		minutes float64
	}{{breathing.LongTerm, 480}, {breathing.ShortTerm, 15}} {
		off := rules.LimitGas{Agent: "acetic acid", Jurisdiction: "NIOSH", Limit: kind.limit, Minutes: kind.minutes,
			Amendment: rules.Amendment{Off: true}}
		_, err := enter(room, board, off, now)
		require.ErrorContains(t, err, "reason is missing")
		off.Why = "another list holds here"
		board, err = enter(room, board, off, now)
		require.NoError(t, err)
		_, err = enter(room, board, off, now)
		require.ErrorContains(t, err, "choose one from the page")
	}
	s, _, _ := rules.Evaluate(room, board, now)
	require.Empty(t, s.Breathing[0].Limits)
	require.Equal(t, "acetic acid: no limit is set here.", s.Breathing[0].Sentence.String())
}

func TestALimitThatCantBeJudgedByIsRefused(t *testing.T) {
	for want, spoil := range map[string]func(*rules.LimitGas){
		"source is missing":          func(a *rules.LimitGas) { a.Source = " " },
		"jurisdiction is missing":    func(a *rules.LimitGas) { a.Jurisdiction = "" },
		"lacks its edition":          func(a *rules.LimitGas) { a.Edition = "" },
		"check the year":             func(a *rules.LimitGas) { a.Effective = time.Date(2226, 1, 1, 0, 0, 0, 0, time.UTC) },
		"expected more than zero":    func(a *rules.LimitGas) { a.Value = 0 },
		"a value of NaN":             func(a *rules.LimitGas) { a.Value = math.NaN() },
		"unknown unit":               func(a *rules.LimitGas) { a.Unit = "drops" },
		`unit "Pa" is not usable`:    func(a *rules.LimitGas) { a.Unit = "Pa" },
		"unknown standing":           func(a *rules.LimitGas) { a.Standing = "hearsay" },
		"unknown kind":               func(a *rules.LimitGas) { a.Limit = "wish" },
		"at most 24 h":               func(a *rules.LimitGas) { a.Minutes = 1500 },
		"has no averaging window":    func(a *rules.LimitGas) { a.Limit = breathing.Ceiling },
		"no probe for":               func(a *rules.LimitGas) { a.Agent = "helium" },
		"jurisdiction is too long: ": func(a *rules.LimitGas) { a.Jurisdiction = strings.Repeat("x", 201) },
	} {
		a := newEdition()
		spoil(&a)
		_, err := enter(storyRoom(), rules.NewBoard(), a, noon())
		require.ErrorContains(t, err, strings.TrimSpace(want))
	}
}

func TestALongShiftLowersALimitThatIsEnteredToo(t *testing.T) {
	room := storyRoom()
	room.Gases[0].Shift = 10 * time.Hour
	board, err := enter(room, rules.NewBoard(), newEdition(), noon())
	require.NoError(t, err)
	rows := breathing.InForce(limitsAt(room, board, noon().Wall), noon().Wall, room.Gases[0].Shift)
	require.Len(t, rows, 2)
	require.InDelta(t, 15, rows[0].Value, 1e-12, "short-term limits are the same for any shift")
	require.InDelta(t, 3.5, rows[1].Value, 1e-12, "5 ppm times 0.7 for ten hours (Brief and Scala, from memory)")
	require.Equal(t, 10*time.Hour, rows[1].Window)
}
