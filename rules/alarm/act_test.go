package alarm_test

import (
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"wetside/rules/alarm"
)

func TestAnAlarmIsTakenOutOfServiceAndPutBackByNameAndForAReason(t *testing.T) {
	l := newLife()
	l.step(1)
	for _, by := range []alarm.By{{}, {Person: "Ada"}, {Note: "new cable"}, {Person: " ", Note: "new cable"}, {Person: "Ada", Note: "\t"}} {
		_, _, err := l.set.TakeOutOfService("port", by, l.now)
		require.ErrorContains(t, err, "needs a name and a reason")
		_, _, err = l.set.Shelve("port", alarm.Shelving{By: by, Until: l.now.Wall.Add(time.Hour)}, l.now)
		require.ErrorContains(t, err, "needs a name and a reason")
	}
	by := alarm.By{Person: "Ada", Note: "new cable", Screen: "the board"}
	_, _, err := l.set.PutBack("port", by, l.now)
	require.ErrorContains(t, err, "it is watched already")
	set, moved, err := l.set.TakeOutOfService("port", by, l.now)
	require.NoError(t, err)
	require.Equal(t, [2]alarm.State{alarm.Normal, alarm.OutOfService}, [2]alarm.State{moved.From, moved.To})
	require.Equal(t, l.now, moved.At)
	require.Equal(t, "Ada: new cable", moved.Cause.String())
	apart := set.Apart()[0]
	require.Equal(t, [3]string{"Ada", "new cable", "the board"}, [3]string{apart.By, apart.Note, apart.Screen})
	require.Equal(t, l.now.Wall, apart.Since)
	_, _, err = set.TakeOutOfService("port", by, l.now)
	require.ErrorContains(t, err, "switched off already")
	_, _, err = set.PutBack("port", alarm.By{}, l.now)
	require.ErrorContains(t, err, "needs a name")
	set, moved, err = set.PutBack("port", alarm.By{Person: "Ben"}, l.now)
	require.NoError(t, err)
	require.Equal(t, alarm.Normal, moved.To)
	require.Empty(t, set.Apart())
	_, _, err = l.set.Shelve("port", alarm.Shelving{By: by, Until: l.now.Wall.Add(24 * time.Hour)}, l.now)
	require.NoError(t, err, "a day is the longest")
}

func TestWhatCameRightByItselfIsOverWithItsAcknowledgement(t *testing.T) {
	l := newLife()
	l.set = alarm.Set{}.Restore(alarm.Alarm{ID: "port", State: alarm.Returned})
	set, moved, err := l.set.Acknowledge("port", alarm.By{Person: "Ada"}, l.now)
	require.NoError(t, err)
	require.Equal(t, [2]alarm.State{alarm.Returned, alarm.Normal}, [2]alarm.State{moved.From, moved.To})
	require.Empty(t, set)
}

func TestOnlyTheAnswerWithoutANameIsNamedAndOnlyOnce(t *testing.T) {
	answered := func(screen string) *alarm.Lives {
		up := moved("air", 0, alarm.Normal, alarm.Unacknowledged)
		up.Alarm.ID, up.Alarm.Raised = "air", start()
		ack := moved("air", 4, alarm.Unacknowledged, alarm.Acknowledged)
		ack.Alarm.By, ack.Alarm.Screen = "Ida", screen
		return followed(up, ack)
	}
	seer := alarm.Seer{ID: "air", Raised: start(), Person: "Ada", At: start().Add(9 * time.Minute)}
	l := answered("the board")
	require.Equal(t, "somebody at the board, not named yet", l.All[0].Seen().String())
	for _, other := range []alarm.Seer{{ID: "gas", Raised: start(), Person: "Eve"}, {ID: "air", Raised: start().Add(1), Person: "Eve"}} {
		l.Name(other)
		require.Empty(t, l.All[0].By)
	}
	l.Name(seer)
	require.Equal(t, "Ada", l.All[0].Seen().String())
	require.Equal(t, seer.At, l.All[0].Named)
	l.Name(alarm.Seer{ID: "air", Raised: start(), Person: "Eve", At: start().Add(time.Hour)})
	require.Equal(t, "Ada", l.All[0].By)

	l = answered("the board")
	l.Name(alarm.Seer{ID: "air", Raised: start(), At: seer.At})
	require.Equal(t, "somebody at the board: nobody remembers who", l.All[0].Seen().String())
	l = answered("")
	l.Name(seer)
	require.Equal(t, "Ida", l.All[0].Seen().String(), "it was answered by name")
}

func TestAlarmsAreListedUrgentFirstThenOldestFirst(t *testing.T) {
	at := func(n int) time.Time { return start().Add(time.Duration(n) * time.Minute) }
	set := alarm.Set{}
	for _, a := range []alarm.Alarm{{ID: "d", Raised: at(2)}, {ID: "c", Raised: at(1)}, {ID: "b", Raised: at(1)},
		{ID: "f", Urgent: true, Raised: at(9)}, {ID: "e", Urgent: true, Raised: at(3)}} {
		set[a.ID] = new(a)
	}
	var order string
	for _, a := range set.Listed() {
		order += a.ID
	}
	require.Equal(t, "efbcd", order)
}
