package rules_test

import (
	"encoding/json"
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"wetside/rules"
	"wetside/rules/access"
	"wetside/rules/record"
	"wetside/sensors"
)

func TestEveryKindOfRecordIsDeclaredWholeAndOnce(t *testing.T) {
	_, err := record.NewRegistry(rules.Kinds()...)
	require.NoError(t, err)
}

// TestEveryActIsReadBackAsItself walks the declared kinds: what a person may enter is
// an act, read back as the kind under which it is kept, for a role that people have.
func TestEveryActIsReadBackAsItself(t *testing.T) {
	people := 0
	for _, k := range rules.Kinds() {
		act, err := rules.DecodeAct(k.Name, json.RawMessage(`{}`))
		if k.Least == record.Program && err == nil { // read from older books alone
			require.Contains(t, []string{"tray filled", "tray emptied", "tray covered"}, k.Name)
			require.ErrorContains(t, rules.Check(storyRoom(), rules.NewBoard(), rules.Command{Person: "Ada", Act: act}), "on the Shelf page")
			continue
		}
		if k.Least == record.Program {
			require.Error(t, err, "no form can ask for %q", k.Name)
			continue
		}
		people++
		require.NoError(t, err, k.Name)
		require.Equal(t, k.Name, act.Kind())
		require.Equal(t, k.Least, rules.LeastFor(act))
		require.Contains(t, access.Roles(), k.Least)
		done := rules.Done{Command: rules.Command{Person: "Ada", Act: act}, Record: 41}
		require.Regexp(t, `^.+ by Ada[.;]`, done.Sentence(storyRoom()).String())
		require.NotContains(t, done.Sentence(storyRoom()).String(), k.Name+" by", "%s says what was done", k.Name)
		require.NotContains(t, done.Sentence(storyRoom()).String(), "41", "the number of a record is for tables")
	}
	require.Greater(t, people, 20)
}

// strange is no act of a room.
type strange struct{}

func (strange) Kind() string { return "alarm drill" }

func TestWhatIsNoActOfARoomIsForNobody(t *testing.T) {
	c := rules.Command{Person: "Ada", Act: strange{}}
	require.Equal(t, record.Program, rules.LeastFor(strange{}))
	require.ErrorContains(t, rules.Check(storyRoom(), rules.NewBoard(), c), "can't be taken in this room")
	_, err := rules.Apply(rules.NewBoard(), rules.Done{Command: c}, noon())
	require.ErrorContains(t, err, "can't be taken in this room")
}

func TestEveryAlarmOfARoomCanBeAnswered(t *testing.T) {
	now := sensors.Instant{Wall: time.Date(2026, 10, 14, 18, 0, 0, 0, time.UTC), Mono: time.Second}
	require.Empty(t, rules.Unanswerable(storyRoom(), rules.NewBoard(), now), "name these alarms in Room.knownAlarm too")
}
