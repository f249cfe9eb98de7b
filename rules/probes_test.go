package rules_test

import (
	"encoding/json"
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"wetside/rules"
	"wetside/rules/record"
	"wetside/rules/truth"
	"wetside/sensors"
	"wetside/sensors/quantity"
	"wetside/sensors/quantity/phrase"
)

// probeRoom is a room with one bath and its probe.
func probeRoom(t *testing.T) (rules.Room, rules.Board) {
	unit, err := quantity.ParseUnit("C")
	require.NoError(t, err)
	traits, _ := sensors.BathTemperature.Traits()
	c := sensors.Channel{ID: "dev", Name: "Developer tray", Kind: sensors.BathTemperature, Unit: unit, Traits: traits}
	room := rules.Room{ID: "north", Channels: []sensors.Channel{c}, Baths: []rules.Bath{{ID: "developer", Name: "Developer",
		Role: rules.Developer, Channel: "dev"}}}
	board := rules.NewBoard()
	board.Probes = truth.Open(room.Channels)
	return room, board
}

func probeNow(after time.Duration) sensors.Instant {
	return sensors.Instant{Wall: time.Date(2026, 10, 14, 17, 0, 0, 0, time.UTC).Add(after), Mono: after}
}

// probeActs are acts on probes, one of each kind, that follow from one another.
func probeActs() []rules.Act {
	f := truth.Finding{ID: "a", What: truth.Jump, Channels: []sensors.ChannelID{"dev"}}
	return []rules.Act{
		truth.FitProbe{Channel: "dev", Probe: "P-1", Accuracy: 0.5},
		truth.CheckProbe{Channel: "dev", Method: truth.IcePoint, Uncertainty: 0.1, AsFound: 0.4, Correct: true,
			Next: probeNow(0).Wall.AddDate(0, 1, 0)},
		truth.SetCorrection{Channel: "dev", From: probeNow(0).Wall.AddDate(0, 0, -7), Slope: 1, Offset: -0.1, Why: "a week wrong"},
		truth.HandReading{Channel: "dev", Value: 20, With: "glass", Uncertainty: 0.2},
		truth.ConfirmFinding{Finding: f, Why: "moved"},
		truth.RemoveProbe{Channel: "dev", Why: "broken"},
	}
}

func TestActsOnProbesAreCheckedAppliedAndRecalledAlike(t *testing.T) {
	room, board := probeRoom(t)
	recalled := board
	f := truth.Finding{ID: "a", What: truth.Jump, Channels: []sensors.ChannelID{"dev"}, Text: phrase.Say("It moved.")}
	content, err := json.Marshal(rules.FoundEvent(f))
	require.NoError(t, err)
	recalled = rules.Recall(recalled, record.Record{Kind: rules.FindingOffered, Number: 1, Content: content})
	board.Probes = board.Probes.Offered(f)
	board.Take(sensors.Reading{Channel: "dev", At: probeNow(time.Minute), Raw: 20.3, Value: 20.3, Grade: sensors.Good})
	for i, act := range probeActs() {
		c := rules.Command{Room: "north", Person: "Ida", Act: act, At: probeNow(time.Minute + time.Duration(i)*time.Second)}
		c.Act = rules.Beside(room, board, c)
		require.NoError(t, rules.Check(room, board, c))
		done := rules.Done{Command: c, Record: uint64(i + 2), At: c.At.Wall}
		board, err = rules.Apply(board, done, c.At)
		require.NoError(t, err)
		require.Regexp(t, `^.+ by Ida\.$`, done.Sentence(room))
		content, err := json.Marshal(c.Act)
		require.NoError(t, err)
		recalled = rules.Recall(recalled, record.Record{Kind: act.Kind(), Number: done.Record, Person: "Ida", At: done.At, Content: content})
	}
	was, _ := board.Probes.Life("dev")
	is, _ := recalled.Probes.Life("dev")
	require.Equal(t, was, is)
	want, err := json.Marshal(board.Probes.Findings())
	require.NoError(t, err)
	got, err := json.Marshal(recalled.Probes.Findings())
	require.NoError(t, err)
	require.JSONEq(t, string(want), string(got))
	require.Equal(t, "It moved.", recalled.Probes.Findings()[0].Text.String())
	require.InDelta(t, 20.3, *was.Hands[0].Raw, 0, "the hand reading took what the probe said")
	require.Equal(t, "It moved.", board.Probes.Findings()[0].Text.String())
	require.ErrorContains(t, rules.Check(room, board, rules.Command{Person: "Ida", Act: truth.FitProbe{Channel: "dev",
		Probe: string(make([]byte, 900))}}), "too long")
}

func TestACorrectedReadingIsWhatTheRulesSeeAndAProbeThatIsOutSaysNothing(t *testing.T) {
	room, board := probeRoom(t)
	say := func(after time.Duration) {
		board.Take(board.Probes.Placed(sensors.Reading{Channel: "dev", At: probeNow(after), Raw: 20.4, Value: 20.4, Grade: sensors.Good}))
	}
	for i, act := range probeActs()[:2] {
		c := rules.Command{Person: "Ida", Act: act, At: probeNow(time.Minute)}
		var err error
		board, err = rules.Apply(board, rules.Done{Command: c, Record: uint64(i + 1), At: c.At.Wall}, c.At)
		require.NoError(t, err)
	}
	say(2 * time.Minute)
	s, memory, _ := rules.Evaluate(room, board, probeNow(2*time.Minute))
	v, ok := s.Channels[0].Good()
	require.True(t, ok)
	require.InDelta(t, 20.0, v, 1e-9)
	require.Len(t, s.Channels[0].Channel.Corrections, 1)
	require.Empty(t, s.Notices)
	late, _, _ := rules.Evaluate(room, board, probeNow(40*24*time.Hour))
	require.Contains(t, phrase.Join("\n", late.Notices...).String(), "The check of the probe at Developer tray was due on Sat 14 Nov 2026.")

	board.Memory = memory
	c := rules.Command{Person: "Ida", Act: truth.RemoveProbe{Channel: "dev", Why: "for a check"}, At: probeNow(3 * time.Minute)}
	board, err := rules.Apply(board, rules.Done{Command: c, Record: 9, At: c.At.Wall}, c.At)
	require.NoError(t, err)
	say(3*time.Minute + time.Second)
	s, _, events := rules.Evaluate(room, board, probeNow(3*time.Minute+time.Second))
	_, ok = s.Channels[0].Good()
	require.False(t, ok)
	require.Equal(t, sensors.OutOfService, s.Channels[0].Reason)
	require.Equal(t, rules.ChannelQuality, events[0].Kind)
	require.Equal(t, string(sensors.OutOfService), events[0].Cause)
}

func TestTheTimeIsConfirmedAgainstAClockThatShowsTheSame(t *testing.T) {
	room, board := probeRoom(t)
	now := probeNow(0)
	check := func(act rules.ConfirmClock) error {
		return rules.Check(room, board, rules.Command{Person: "Ida", Act: act, At: now})
	}
	require.NoError(t, check(rules.ConfirmClock{Against: "radio clock", Seen: now.Wall.Add(-90 * time.Second)}))
	require.ErrorContains(t, check(rules.ConfirmClock{Against: "radio clock", Seen: now.Wall.Add(26 * time.Hour)}), "26 h 0 min off")
	require.ErrorContains(t, check(rules.ConfirmClock{Seen: now.Wall}), "clock that you looked at")
	for view, want := range map[rules.ClockView]int{{}: 0, {Confirmed: true}: 0, {Behind: true}: 1, {Stepped: true}: 1} {
		board.Clock = view
		s, _, _ := rules.Evaluate(room, board, now)
		require.Len(t, s.Notices, want)
	}
}

func TestOfFindingsAlikeTheNewestIsTold(t *testing.T) {
	room, board := probeRoom(t)
	for _, id := range []string{"a", "b", "c"} {
		board.Probes = board.Probes.Offered(truth.Finding{ID: id, What: truth.OutOfBath, Channels: []sensors.ChannelID{"dev"},
			Text: phrase.Say("Evening %s.", id)})
	}
	board.Probes = board.Probes.Offered(truth.Finding{ID: "d", What: truth.Jump, Channels: []sensors.ChannelID{"dev"},
		Text: phrase.Say("It moved.")})
	s, _, _ := rules.Evaluate(room, board, probeNow(time.Minute))
	var told []string
	for _, notice := range s.Notices {
		told = append(told, notice.String())
	}
	require.Equal(t, []string{
		"It moved. About 0 % likely. Check the probe, then confirm or dismiss the finding under Probes.",
		"Evening c. About 0 % likely. Check the probe, then confirm or dismiss the finding and the earlier ones like it under Probes."}, told)
}
