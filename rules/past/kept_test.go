package past_test

import (
	"bytes"
	"encoding/gob"
	"encoding/json"
	"testing"
	"time"

	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"wetside/rules"
	"wetside/rules/alarm"
	"wetside/rules/coverage"
	"wetside/rules/past"
	"wetside/rules/record"
	"wetside/rules/session"
	"wetside/rules/ventilation"
	"wetside/sensors/quantity/phrase"
)

// invented draws the content of a record of some kind.
func invented(t *rapid.T, at time.Time) (kind string, content any) {
	ids := rapid.SampledFrom([]string{"air", "bath"})
	states := rapid.SampledFrom([]alarm.State{alarm.Normal, alarm.Unacknowledged, alarm.Acknowledged, alarm.Shelved, alarm.OutOfService,
		alarm.Suppressed, alarm.Returned})
	begun := begin().Add(time.Duration(rapid.IntRange(0, 3).Draw(t, "session")) * time.Hour)
	phase := rapid.SampledFrom([]session.Phase{session.Open, session.Closed}).Draw(t, "phase")
	s := session.Session{Phase: phase, Title: "Class (invented)", Why: phrase.Say("%d minutes", 3), Begun: begun, Since: at,
		Tally: session.Tally{Known: time.Minute, To: at}}
	kind = rapid.SampledFrom([]string{past.Kind, rules.AlarmChange, rules.AlarmsArmed, rules.AlarmSeenBy, rules.SessionPhase,
		rules.SessionCounts, rules.AirState, rules.StateUnexposed{}.Kind()}).Draw(t, "kind")
	switch kind {
	case past.Kind:
		return kind, past.Site{Zone: "UTC", Rooms: []past.Room{{ID: "practice", Volume: rapid.Float64Range(20, 60).Draw(t, "volume")}}}
	case rules.AlarmChange:
		id, to := ids.Draw(t, "alarm"), states.Draw(t, "to")
		return kind, rules.Event{Subject: id, From: string(states.Draw(t, "from")), To: string(to), Cause: "invented",
			Alarm: &alarm.Alarm{ID: id, State: to, Text: phrase.Say("%s is wrong", id), Raised: begin(),
				Screen: rapid.SampledFrom([]string{"", "the wall"}).Draw(t, "screen")}}
	case rules.AlarmsArmed:
		return kind, rules.Event{To: rapid.SampledFrom([]string{"armed", "not armed"}).Draw(t, "armed")}
	case rules.AlarmSeenBy:
		return kind, rules.NameSeer{Alarm: ids.Draw(t, "alarm"), Raised: begin(), Saw: "Ada"}
	case rules.AirState:
		return kind, rules.Event{From: rapid.SampledFrom([]string{"", "proven"}).Draw(t, "from"), To: string(ventilation.Disputed)}
	case rules.StateUnexposed{}.Kind():
		return kind, rules.StateUnexposed{Why: "invented"}
	}
	return kind, rules.Event{Session: &s}
}

func TestAFoldGoesOnFromWhatWasKeptOfItAsIfItHadReadOn(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		var whole, part past.Fold
		n := rapid.IntRange(1, 60).Draw(t, "records")
		kept := rapid.IntRange(0, n).Draw(t, "kept after")
		for i := range n {
			if i == kept {
				var file bytes.Buffer
				require.NoError(t, gob.NewEncoder(&file).Encode(part.Kept()))
				var read past.Kept
				require.NoError(t, gob.NewDecoder(&file).Decode(&read))
				var err error
				part, err = past.Resume(read)
				require.NoError(t, err)
			}
			at := begin().Add(time.Duration(i*7) * time.Minute)
			kind, content := invented(t, at)
			text, err := json.Marshal(content)
			require.NoError(t, err)
			r := record.Record{Number: uint64(i + 1), Kind: kind, Room: "practice", Person: "Ada", At: at, Content: text}
			require.NoError(t, whole.Apply(r))
			require.NoError(t, part.Apply(r))
		}
		require.Equal(t, whole.Last(), part.Last())
		over := coverage.Span{From: begin(), To: begin().Add(24 * time.Hour)}
		for _, asOf := range []time.Time{begin().Add(2 * time.Hour), over.To} {
			require.Equal(t, whole.Alarms(over, asOf), part.Alarms(over, asOf))
			require.Equal(t, whole.Asides(over, asOf), part.Asides(over, asOf))
			require.Equal(t, whole.Up("practice", asOf), part.Up("practice", asOf))
			require.Equal(t, eveningsOf(&whole, asOf), eveningsOf(&part, asOf))
		}
		require.Equal(t, whole.AirRooms(), part.AirRooms())
		require.Equal(t, whole.Air("practice", over), part.Air("practice", over))
		require.Equal(t, whole.Settings, part.Settings)
	})
}
