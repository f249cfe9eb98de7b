package daemon_test

import (
	"encoding/json"
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"wetside/chem/ledger"
	"wetside/daemon"
	"wetside/daemon/history"
	"wetside/rules"
	"wetside/rules/session"
)

// openedSessions are the sessions of the book of the shelf that have not ended.
func openedSessions(d *daemon.Daemon) (open []string) {
	b := d.Shelf().Book()
	for _, r := range b.Records {
		if opened, is := r.Act.(ledger.SessionOpened); is {
			if s, ok := b.Session(opened.Session); ok && s.Closed.IsZero() {
				open = append(open, s.ID)
			}
		}
	}
	return open
}

func start(phase session.Phase) rules.Command {
	return rules.Command{Room: "darkroom", Person: "Ada", Act: rules.StartSession{Phase: phase, Entry: session.Entry{Title: "Beginners",
		People: 6}}}
}

func TestASessionStartedOnTheBoardIsTheOneOfTheShelf(t *testing.T) {
	o := options(t)
	d := running(t, o)
	_, err := d.Do(t.Context(), start(session.SetUp))
	require.NoError(t, err)
	open := openedSessions(d)
	require.Len(t, open, 1)
	b := d.Shelf().Book()
	s, _ := b.Session(open[0])
	require.Equal(t, "Beginners", s.Title)
	require.Equal(t, "Ada", s.Lead)
	_, err = d.Do(t.Context(), start(session.Open))
	require.NoError(t, err)
	require.Equal(t, open, openedSessions(d), "the session goes on: no second one is opened")
}

func TestASessionOpenedAtSetUpIsTheOneOfTheRoom(t *testing.T) {
	o := options(t)
	d := running(t, o)
	_, err := d.Enter(t.Context(), daemon.ShelfEntry{Room: "darkroom", Person: "Ida", Act: ledger.SessionOpened{Session: "class 1",
		Title: "Beginners", Lead: "Ida"}})
	require.NoError(t, err)
	require.Eventually(t, func() bool { return d.Now().Rooms[0].Session.Phase == session.SetUp }, 10*time.Second, 10*time.Millisecond)
	require.Equal(t, "Beginners", d.Now().Rooms[0].Session.Title)

	_, err = d.Do(t.Context(), start(session.Open))
	require.NoError(t, err)
	require.Equal(t, []string{"class 1"}, openedSessions(d), "the instructor goes on with the session of the set-up")
	reader, err := history.OpenReader(t.Context(), history.Options{Dir: o.Config.Data, Clock: o.Clock, Zone: time.UTC})
	require.NoError(t, err)
	defer func() { require.NoError(t, reader.Close()) }()
	records, err := reader.Records(t.Context(), history.Query{Kinds: []string{rules.StartSession{}.Kind()}})
	require.NoError(t, err)
	require.Len(t, records, 2)
	for _, r := range records {
		var act rules.StartSession
		require.NoError(t, json.Unmarshal(r.Content, &act))
		require.Equal(t, "class 1", act.Session, "both books know the session by one name")
	}
}

func TestASessionThatIsEnteredLateStartsNothingInTheRoom(t *testing.T) {
	d := running(t, options(t))
	_, err := d.Enter(t.Context(), daemon.ShelfEntry{Room: "darkroom", Person: "Ida", Happened: time.Now().Add(-24 * time.Hour),
		Reason: "nobody wrote that evening down",
		Act:    ledger.SessionOpened{Session: "yesterday", Title: "Beginners", Lead: "Ida"}})
	require.NoError(t, err)
	require.False(t, d.Now().Rooms[0].Session.Phase.Running())
}

// A room is aired for hours after a class; the next class may begin meanwhile, and is not counted with it.
func TestASecondClassWhileTheRoomIsAiredIsASessionOfItsOwn(t *testing.T) {
	for name, begin := range map[string]func(*daemon.Daemon) error{
		"at set-up": func(d *daemon.Daemon) error {
			_, err := d.Enter(t.Context(), daemon.ShelfEntry{Room: "darkroom", Person: "Ida", Act: ledger.SessionOpened{Session: "class 2",
				Title: "Beginners", Lead: "Ida"}})
			return err
		},
		"on the board": func(d *daemon.Daemon) error { _, err := d.Do(t.Context(), start(session.SetUp)); return err },
	} {
		t.Run(name, func(t *testing.T) {
			d := running(t, options(t))
			for _, act := range []ledger.Act{ledger.SessionOpened{Session: "class 1", Title: "Advanced", Lead: "Ida"},
				ledger.SessionClosed{Session: "class 1"}} {
				_, err := d.Enter(t.Context(), daemon.ShelfEntry{Room: "darkroom", Person: "Ida", Act: act})
				require.NoError(t, err)
			}
			_, err := d.Do(t.Context(), rules.Command{Room: "darkroom", Person: "Ida", Act: rules.EndSession{Phase: session.TakeDown}})
			require.NoError(t, err)
			first := d.Now().Rooms[0].Session.Counted
			require.Equal(t, "class 1", first.ID)
			require.Eventually(t, func() bool { return d.Now().Rooms[0].Session.SignedOff }, 10*time.Second, 10*time.Millisecond,
				"nothing is left to be entered of it")
			require.NoError(t, begin(d))
			require.Eventually(t, func() bool { return d.Now().Rooms[0].Session.Phase == session.SetUp }, 10*time.Second, 10*time.Millisecond)
			require.Equal(t, openedSessions(d), []string{d.Now().Rooms[0].Session.Counted.ID}, "one name in both books")
			require.NotEqual(t, "class 1", d.Now().Rooms[0].Session.Counted.ID)
			require.Equal(t, "Beginners", d.Now().Rooms[0].Session.Title)
			require.True(t, d.Now().Rooms[0].Session.Counted.Begun.After(first.Begun), "it is counted from its own beginning")
		})
	}
}

// Trays were filled before anybody said for whom; and baths may stay in their trays for the next class.
func TestASessionBelongsToTheClassThatWasOpenedOverFilledTrays(t *testing.T) {
	o := options(t)
	d := running(t, o)
	opens := func(id string) session.Session {
		_, err := d.Enter(t.Context(), daemon.ShelfEntry{Room: "darkroom", Person: "Ida", Act: ledger.SessionOpened{Session: id,
			Title: id, Lead: "Ida"}})
		require.NoError(t, err)
		require.Eventually(t, func() bool { return d.Now().Rooms[0].Session.Title == id }, 10*time.Second, 10*time.Millisecond)
		require.Equal(t, session.Open, d.Now().Rooms[0].Session.Phase)
		require.Equal(t, id, d.Now().Rooms[0].Session.Counted.ID)
		return d.Now().Rooms[0].Session.Counted
	}
	found(t, d, "darkroom", "developer")
	require.Eventually(t, func() bool { return d.Now().Rooms[0].Session.Phase == session.Open }, 10*time.Second, 10*time.Millisecond)
	begun := d.Now().Rooms[0].Session.Counted.Begun
	require.Equal(t, begun, opens("class 1").Begun, "what was filled for it is counted with it")

	_, err := d.Do(t.Context(), rules.Command{Room: "darkroom", Person: "Ida", Act: rules.EndSession{Phase: session.TakeDown}})
	require.NoError(t, err)
	_, err = d.Enter(t.Context(), daemon.ShelfEntry{Room: "darkroom", Person: "Ida", Act: ledger.SessionClosed{Session: "class 1"}})
	require.NoError(t, err)
	require.True(t, opens("class 2").Begun.After(begun))

	reader, err := history.OpenReader(t.Context(), history.Options{Dir: o.Config.Data, Clock: o.Clock, Zone: time.UTC})
	require.NoError(t, err)
	defer func() { require.NoError(t, reader.Close()) }()
	records, err := reader.Records(t.Context(), history.Query{Kinds: []string{rules.SessionPhase}})
	require.NoError(t, err)
	var told []string
	for _, r := range records {
		var e rules.Event
		require.NoError(t, json.Unmarshal(r.Content, &e))
		told = append(told, e.Session.ID+" "+e.To)
	}
	require.Equal(t, []string{" open", "class 1 take-down", "class 1 closed", "class 2 open"}, told)
}
