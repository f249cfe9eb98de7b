package daemon_test

import (
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"wetside/dashboard/formtest"
	"wetside/rules"
	"wetside/rules/session"
)

// TestOnePressAnswersAnAlarmAndTheNameComesLater has the fan stop: whoever stands at the board
// presses once, and says in the light who it was. The report names nobody until then.
func TestOnePressAnswersAnAlarmAndTheNameComesLater(t *testing.T) {
	k := newTeaching(t, "0s fill trays; 0s start fan; 1m stop fan")
	_, err := k.daemon.Do(k.ctx, rules.Command{Room: "practice", Person: "Ida", Act: rules.StartSession{Phase: session.Open}})
	require.NoError(t, err)
	k.evening.until(4 * time.Minute)
	answered := func() string {
		d, err := k.daemon.Reports().Report(k.ctx, k.clock.Now().Wall.Add(-time.Hour), k.clock.Now().Wall)
		require.NoError(t, err)
		for _, a := range d.Alarms {
			if !a.Answered.IsZero() {
				return a.By
			}
		}
		return ""
	}
	requireWalked(t, k, []journey{
		{"instructor, answer an alarm at the board", 1, 0, func(k *teaching) {
			k.Open(boardAt).Form(formtest.Doing("seen")).Press("Seen A")
		}},
	})
	require.Equal(t, "somebody at the lab computer, not named yet", answered())
	k.evening.end()
	require.NoError(t, <-k.evening.ended)
	k.evening.start() // the book tells of the press twice: as the act, and as the change of the alarm
	again := formtest.At(t, k.daemon.URL())
	page := accepted(t, again.Open("/rooms/practice/tonight").Form(formtest.Doing("name-seer")).Fill("saw", "Ida").Press("Save this name"))
	require.Contains(t, page.Text(), "Ida saw the alarm")
	require.NotContains(t, page.Text(), "Who saw this alarm?")
	require.Equal(t, "Ida", answered())
	_, err = k.daemon.Do(k.ctx, rules.Command{Room: "practice", Person: "Eve", Act: rules.NameSeer{Alarm: "air", Saw: "Eve"}})
	require.ErrorContains(t, err, "this alarm no longer needs the name of who saw it")
}
