package daemon_test

import (
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"wetside/dashboard/formtest"
)

// press presses a button of the page of timers, the first for an act, and gives the page after it.
func (e *evening) press(act string) *formtest.Page {
	e.Helper()
	return formtest.At(e, e.daemon.URL()).Open("/rooms/practice/timer").First(formtest.Doing(act)).Send()
}

func TestATimerFollowsItsBathSaysWhenTheProbeIsSilentAndEndsWithTheDaemon(t *testing.T) {
	e := newEvening(t, "0s fill trays; 0s start fan; 40s pull trays 10m")
	e.until(5 * time.Second)
	page := e.press("start").Source
	require.Contains(t, page, "This timer only counts up, since there is no time: no batch is entered for this tray.")
	require.Contains(t, page, `data-up=""`)
	e.press("undo").Says("No timer is running")
	e.fillTrays()
	e.until(10 * time.Second)
	start := formtest.At(t, e.daemon.URL()).Open("/rooms/practice/timer").Form(formtest.Doing("start"))
	start.Forge("a page offers developers alone", "bath", "fixer-1").Send().Says(`no developer "fixer-1"`)
	e.press("start").Says("Pause")
	promised := *e.now().Rooms[0].Baths[0].Recommendation.Seconds
	e.until(30 * time.Second)
	_, page = e.get("/rooms/practice/timer")
	require.Contains(t, page, `data-state="running"`)
	require.NotContains(t, page, "silent")

	e.until(65 * time.Second)
	_, page = e.get("/rooms/practice/timer")
	require.Contains(t, page, "the timer follows the trend of the last minutes")
	e.until(10*time.Second + time.Duration(1.2*promised)*time.Second)
	_, page = e.get("/rooms/practice/timer")
	require.Contains(t, page, `data-state="done"`)

	e.press("remove").Says("No timer is running")
	require.Contains(t, e.press("undo").Source, `data-state="done"`)

	e.end()
	require.NoError(t, <-e.ended)
	e.start()
	_, page = e.get("/rooms/practice/timer")
	require.Contains(t, page, "No timer is running", "timers are no records of the book")
	e.stop()
}
