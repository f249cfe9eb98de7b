package rules_test

import (
	"encoding/json"
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"wetside/rules"
	"wetside/rules/record"
	"wetside/rules/session"
	"wetside/sensors"
)

// recalled is the board of a room after the records of an older book, each a kind and its content.
func recalled(records ...[2]string) rules.Board {
	board := rules.NewBoard()
	for i, r := range records {
		board = rules.Recall(board, record.Record{Kind: r[0], Number: uint64(i + 1), Person: "Ada",
			At: at(time.Duration(i) * time.Minute).Wall, Content: json.RawMessage(r[1])})
	}
	return board
}

// content is what the developer of a board holds.
func content(t *testing.T, board rules.Board) *rules.Portion {
	snap, _, _ := rules.Evaluate(developerRoom(t), board, at(time.Hour))
	return snap.Baths[0].Portion
}

// The contents are as an earlier version of this program wrote them.
func TestTheTraysOfAnOlderBookAreReadAsBefore(t *testing.T) {
	filled := [2]string{"tray filled", `{"bath":"developer","batch":"A1","what":"invented ` +
		`developer","parts_concentrate":1,"parts_water":9,"volume_ml":2000}`}
	want := rules.Portion{Record: 1, Batch: "A1", What: "invented developer", By: "Ada", Filled: at(0).Wall, Concentrate: 1, Water: 9,
		Volume: 2000}
	require.Equal(t, &want, content(t, recalled(filled)))

	covered := want
	covered.Covered = true
	lid, off := [2]string{"tray covered", `{"bath":"developer","covered":true}`},
		[2]string{"tray covered", `{"bath":"developer","covered":false}`}
	require.Equal(t, &covered, content(t, recalled(filled, lid)))
	require.Equal(t, &want, content(t, recalled(filled, lid, off)))

	emptied := [2]string{"tray emptied", `{"bath":"developer","where":"to waste"}`}
	require.Nil(t, content(t, recalled(filled, emptied)))
	require.Nil(t, content(t, recalled(filled, emptied, lid)), "nothing is there to cover")
	again := recalled(filled, lid, emptied, filled)
	require.Equal(t, uint64(4), content(t, again).Record)
	require.False(t, content(t, again).Covered, "a lid belongs to what it covered")
}

func TestASessionBegunOnTheTraysOfAnOlderBookGoesOn(t *testing.T) {
	room := developerRoom(t)
	board := recalled([2]string{"tray filled", `{"bath":"developer","batch":"A1","what":"invented developer"}`})
	snap, memory, _ := rules.Evaluate(room, board, at(time.Hour))
	board.Memory = memory
	require.True(t, snap.Armed, "alarms are on while a tray is filled")
	for m := range 5 {
		now := at(time.Hour + time.Duration(m)*time.Minute)
		board.Take(sensors.Reading{Channel: probe, At: now, Raw: 20, Value: 20, Grade: sensors.Good})
		snap, board.Memory, _ = rules.Evaluate(room, board, now)
	}
	require.NotEqual(t, session.Closed, snap.Session.Phase)
	seconds, ok := snap.Baths[0].Recommendation.Time()
	require.True(t, ok, "%v", snap.Baths[0].Recommendation.Refusal())
	require.Equal(t, 2*time.Minute, seconds)
}

func TestWhatIsPouredFromTheShelfEndsTheEntryOfAnOlderBook(t *testing.T) {
	board := recalled([2]string{"tray filled", `{"bath":"developer","batch":"A1","what":"invented developer"}`})
	board.Shelf.LastFill = map[string]uint64{"developer": 2}
	require.Nil(t, content(t, board), "somebody filled the tray since, and emptied it")
	poured := holds(board, "developer", rules.Portion{Record: 2, What: "print developer"})
	require.Equal(t, "print developer", content(t, poured).What)
	board.Shelf.LastFill["developer"] = 0
	require.Equal(t, "invented developer", content(t, board).What)
}
