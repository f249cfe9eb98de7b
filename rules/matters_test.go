package rules_test

import (
	"encoding/json"
	"slices"
	"testing"
	"time"

	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"wetside/rules"
	"wetside/rules/alarm"
	"wetside/rules/record"
	"wetside/rules/session"
	"wetside/rules/ventilation"
)

// anyRecord draws a record of the kinds from which a board is brought back, some of which make no sense.
func anyRecord(t *rapid.T, number uint64) record.Record {
	at := noon().Wall.Add(time.Duration(number) * time.Minute)
	alarms, baths := rapid.SampledFrom([]string{"air", "air-low", "bath:dev"}), rapid.SampledFrom([]string{"dev", "fix"})
	event := func(kind string, e rules.Event) (string, any) { return kind, e }
	act := func(a rules.Act) (string, any) { return a.Kind(), a }
	draw := rapid.SampledFrom([]func() (string, any){
		func() (string, any) {
			states := []alarm.State{alarm.Unacknowledged, alarm.Acknowledged, alarm.Normal, alarm.Shelved, alarm.OutOfService, "no state"}
			was, is := rapid.SampledFrom(states).Draw(t, "from"), rapid.SampledFrom(states).Draw(t, "state")
			return event(rules.AlarmChange, rules.Event{From: string(was), To: string(is), Alarm: &alarm.Alarm{ID: alarms.Draw(t, "alarm"),
				State: is, Raised: at, Screen: rapid.SampledFrom([]string{"", "lab computer"}).Draw(t, "screen")}})
		},
		func() (string, any) {
			before := time.Duration(rapid.IntRange(1, 20).Draw(t, "records before")) * time.Minute
			return act(rules.NameSeer{Alarm: alarms.Draw(t, "alarm"), Raised: at.Add(-before), Saw: "invented"})
		},
		func() (string, any) { return act(rules.AcknowledgeAlarm{Alarm: alarms.Draw(t, "alarm")}) },
		func() (string, any) { return act(rules.DisableAlarm{Alarm: alarms.Draw(t, "alarm"), Why: "work"}) },
		func() (string, any) { return event(rules.AlarmChange, rules.Event{}) },
		func() (string, any) {
			return event(rules.FanRun, rules.Event{Run: &ventilation.Run{Start: at, Stop: at.Add(time.Minute)}})
		},
		func() (string, any) {
			s := session.Session{Phase: rapid.SampledFrom([]session.Phase{session.SetUp, session.Open, session.Closed}).Draw(t, "phase"),
				Begun: at, Since: at}
			if rapid.Bool().Draw(t, "aired") {
				s.Tally = session.Tally{FanTime: time.Hour, Moved: float64(number)}
			}
			return event(rules.SessionPhase, rules.Event{Session: &s})
		},
		func() (string, any) { return act(rules.StartSession{Phase: session.Open}) },
		func() (string, any) { return act(rules.EndSession{Phase: session.Closed}) },
		func() (string, any) { return act(rules.AnnounceTime{Bath: baths.Draw(t, "bath"), Seconds: 90}) },
		func() (string, any) {
			return "tray filled", map[string]any{"bath": baths.Draw(t, "bath"), "what": "invented"}
		},
		func() (string, any) { return "tray emptied", map[string]any{"bath": baths.Draw(t, "bath")} },
		func() (string, any) {
			return "tray covered", map[string]any{"bath": baths.Draw(t, "bath"), "covered": rapid.Bool().Draw(t, "covered")}
		},
	})
	kind, content := draw.Draw(t, "record")()
	text, err := json.Marshal(content)
	require.NoError(t, err)
	return record.Record{Number: number, Kind: kind, Room: "practice", Person: "invented", At: at, Content: text}
}

// TestABoardFromTheRecordsThatCountIsThatFromAllOfThem also brings the list up to date in
// several steps, as start after start does.
func TestABoardFromTheRecordsThatCountIsThatFromAllOfThem(t *testing.T) {
	left := 0
	rapid.Check(t, func(t *rapid.T) {
		var all []record.Record
		var counting []uint64
		whole := rules.NewBoard()
		for range rapid.IntRange(1, 4).Draw(t, "starts") {
			var matters rules.MatterBook
			for _, r := range all {
				if slices.Contains(counting, r.Number) {
					matters.Read(r)
				}
			}
			for range rapid.IntRange(0, 150).Draw(t, "records") {
				r := anyRecord(t, uint64(len(all)+1))
				all = append(all, r)
				matters.Read(r)
				whole = rules.Recall(whole, r)
			}
			counting = matters.Numbers()
			part := rules.NewBoard()
			for _, r := range all {
				if slices.Contains(counting, r.Number) {
					part = rules.Recall(part, r)
				}
			}
			require.Equal(t, whole, part)
			left = max(left, len(all)-len(counting))
		}
	})
	require.Greater(t, left, 10, "records that no longer count are left out")
}
