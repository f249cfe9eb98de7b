package daemon_test

import (
	"database/sql"
	"errors"
	"os"
	"path/filepath"
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"wetside/daemon"
	"wetside/rules"
)

// complaint is an act that any room takes.
func complaint(d *daemon.Daemon) rules.Command {
	return rules.Command{Room: d.Now().Rooms[0].Room, Person: "invented volunteer", Act: rules.ReportComplaint{What: "smells of fixer"}}
}

func TestARemovedHistoryIsSaidAtOnceAndTakesNoForms(t *testing.T) {
	o := options(t)
	d := running(t, o)
	_, err := d.Do(t.Context(), complaint(d))
	require.NoError(t, err)
	path := filepath.Join(o.Config.Data, "wetside.db")
	require.NoError(t, os.Rename(path, path+".away"))
	_, err = d.Do(t.Context(), complaint(d))
	require.ErrorContains(t, err, "removed or replaced while wetside ran")
	require.Eventually(t, func() bool { return !d.Now().Rooms[0].History.Kept }, 5*time.Second, 10*time.Millisecond)
	require.ErrorContains(t, d.Health(), "history is not being kept")
	require.NoError(t, os.Rename(path+".away", path))
	require.Eventually(t, func() bool { return d.Health() == nil && d.Now().Rooms[0].History.Kept }, 5*time.Second, 10*time.Millisecond)
	_, err = d.Do(t.Context(), complaint(d))
	require.NoError(t, err)
}

func TestABrokenBookIsOnTheBoardAndInTheHealth(t *testing.T) {
	o := options(t)
	t.Run("a run before", func(t *testing.T) { running(t, o) })
	db, err := sql.Open("sqlite", filepath.Join(o.Config.Data, "wetside.db"))
	require.NoError(t, err)
	_, err = db.Exec("DROP TRIGGER record_is_never_changed; UPDATE record SET kind = 'invented' WHERE number = (SELECT max(number) FROM " +
		"record)")
	require.NoError(t, errors.Join(err, db.Close()))
	mark := filepath.Join(o.Config.Data, "wetside.mark")
	require.FileExists(t, mark)
	require.NoError(t, os.Remove(mark)) // without it the start checks the whole book
	again := options(t)
	again.Config.Data = o.Config.Data
	d := running(t, again)
	require.Eventually(t, func() bool { return !d.Now().Rooms[0].History.Broken.IsZero() }, 5*time.Second, 10*time.Millisecond)
	require.ErrorContains(t, d.Health(), "the record book is damaged or was changed")
	require.Eventually(t, func() bool {
		for _, a := range d.Now().Rooms[0].Alarms {
			if a.ID == "book" {
				return true
			}
		}
		return false
	}, 15*time.Second, 10*time.Millisecond)
}
