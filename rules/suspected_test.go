package rules_test

import (
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"wetside/chem"
	"wetside/rules"
	"wetside/rules/truth"
	"wetside/sensors"
	"wetside/sensors/quantity/phrase"
)

// suspectedRoom is a room with a developer at 20.4 °C, for which there is a time.
func suspectedRoom(t *testing.T) (rules.Room, rules.Board) {
	room, board := probeRoom(t)
	table, err := chem.NewTable("invented", []chem.Point{{At: 18, Time: 100 * time.Second}, {At: 24, Time: 60 * time.Second}})
	require.NoError(t, err)
	room.Baths[0].Developing, room.Baths[0].Band = table, sensors.Range{Low: 18, High: 24}
	board = holds(board, "developer", rules.Portion{Record: 1, What: "invented developer", By: "Ida"})
	return room, board
}

// outOfBath is the finding that the developer's probe reads air.
func outOfBath(sure float64, doubts bool) truth.Finding {
	return truth.Finding{ID: "out", What: truth.OutOfBath, Channels: []sensors.ChannelID{"dev"}, From: probeNow(time.Minute).Wall,
		Confidence: sure, Doubts: doubts, Text: phrase.Say("It reads air.")}
}

func TestNothingRestsOnASuspectedProbeUntilAPersonHasJudged(t *testing.T) {
	room, board := suspectedRoom(t)
	minute := 0
	look := func() rules.BathView {
		minute++
		now := probeNow(time.Duration(minute) * time.Minute)
		board.Take(board.Probes.Unbelieved(sensors.Reading{Channel: "dev", At: now, Raw: 20.4, Value: 20.4, Grade: sensors.Good}))
		s, memory, _ := rules.Evaluate(room, board, now)
		board.Memory = memory
		return s.Baths[0]
	}
	enter := func(act rules.Act) {
		c := rules.Command{Person: "Ida", Act: act, At: probeNow(time.Duration(minute) * time.Minute)}
		require.NoError(t, rules.Check(room, board, c))
		after, err := rules.Apply(board, rules.Done{Command: c, Record: uint64(10 + minute), At: c.At.Wall}, c.At)
		require.NoError(t, err)
		board = after
	}
	gives := func(b rules.BathView) bool {
		_, time := b.Recommendation.Time()
		_, warm := b.Temperature()
		require.Equal(t, time, warm)
		require.Equal(t, time, b.Band != rules.BandUnknown)
		require.Equal(t, time, b.Channel.Grade == sensors.Good)
		return time
	}
	require.True(t, gives(look()))
	board.Probes = board.Probes.Offered(outOfBath(0.94, true))
	b := look()
	require.False(t, gives(b), "it is suspected")
	require.Equal(t, sensors.LooksWrong, b.Channel.Reason)
	require.Contains(t, b.Recommendation.Sentence().String(), "the temperature is suspect (probe out of the liquid, 94 % likely)")
	require.Equal(t, sensors.LooksWrong, board.Readings["dev"].Reason, "what is kept says so")
	require.InDelta(t, 20.4, board.Readings["dev"].Raw, 0, "the raw value is kept")

	judged := truth.Finding{ID: "out"}
	enter(truth.ConfirmFinding{Finding: judged, Why: "it hangs in the air", Still: true})
	require.False(t, gives(look()), "the probe still hangs in the air")
	enter(truth.ConfirmFinding{Finding: judged, Why: "put back"})
	require.True(t, gives(look()))
	require.ErrorContains(t, rules.Check(room, board, rules.Command{Person: "Ida", Act: truth.DismissFinding{Finding: judged, Why: "no"}}),
		"has judged")
	doubts := board.Probes.Doubts("dev")
	require.Len(t, doubts, 1)
	require.Equal(t, probeNow(time.Minute).Wall, doubts[0].From)
	require.Equal(t, probeNow(3*time.Minute).Wall, doubts[0].To, "up to when it was put back")
}

func TestADismissedFindingTakesNothingAwayAndNeitherDoesOneOfAnEarlierBook(t *testing.T) {
	room, board := suspectedRoom(t)
	take := func() bool {
		board.Take(board.Probes.Unbelieved(sensors.Reading{Channel: "dev", At: probeNow(time.Minute), Raw: 20.4, Value: 20.4,
			Grade: sensors.Good}))
		s, _, _ := rules.Evaluate(room, board, probeNow(time.Minute))
		_, ok := s.Channels[0].Good()
		return ok
	}
	earlier := board
	board.Probes = board.Probes.Offered(outOfBath(0.94, true))
	require.False(t, take())
	board.Probes = board.Probes.With(truth.DismissFinding{Finding: truth.Finding{ID: "out"}, Why: "poured at the air's temperature"},
		truth.Stamp{Person: "Ida", At: probeNow(2 * time.Minute).Wall})
	require.True(t, take())
	require.Empty(t, board.Probes.Doubts("dev"))
	board = earlier
	board.Probes = board.Probes.Offered(outOfBath(0.94, false))
	require.True(t, take(), "a record from before there were doubts takes nothing away")
}

func TestAnotherDeviceEndsTheDoubt(t *testing.T) {
	_, board := suspectedRoom(t)
	board.Probes = board.Probes.Offered(outOfBath(0.94, true))
	fitted := probeNow(5 * time.Minute).Wall
	board.Probes = board.Probes.With(truth.FitProbe{Channel: "dev", Probe: "P-2"}, truth.Stamp{Person: "Ida", At: fitted})
	_, suspected := board.Probes.Suspected("dev")
	require.False(t, suspected)
	require.Equal(t, fitted, board.Probes.Doubts("dev")[0].To, "what it said before stays doubted")
}
