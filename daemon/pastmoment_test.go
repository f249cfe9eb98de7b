package daemon_test

import (
	"fmt"
	"net/http"
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"wetside/chem"
	"wetside/chem/ledger"
	"wetside/daemon"
	"wetside/rules"
)

// What a page says of a moment in the past is held against what the board said at that
// very moment: with the plug in, with the plug out, and before anything ran.
func TestLookingBackSaysWhatTheBoardSaid(t *testing.T) {
	e := newEvening(t, "0s fill trays; 0s start fan; 3m pull trays 90s; 6m stop fan")
	e.until(5 * time.Second)
	e.fillTrays()
	e.until(2 * time.Minute)
	before := e.now().Rooms[0]
	require.NotNil(t, before.Baths[0].Recommendation.Seconds)
	_, err := e.daemon.Do(e.ctx, rules.Command{Room: "practice", Person: "invented instructor",
		Act: rules.AnnounceTime{Bath: "developer", Seconds: *before.Baths[0].Recommendation.Seconds}})
	require.NoError(t, err)
	tray := finding(e.daemon, "practice", "fixer-1").Act.(ledger.BathFound).Container
	_, err = e.daemon.Enter(e.ctx, daemon.ShelfEntry{Room: "practice", Person: "invented instructor",
		Act: ledger.SheetsUsed{Containers: []string{tray}, Material: ledger.ResinCoated, Count: 5, SheetArea: ledger.EightByTen}})
	require.NoError(t, err)
	e.until(4 * time.Minute)
	require.Nil(t, e.now().Rooms[0].Baths[0].Temperature)
	e.until(7*time.Minute + 5*time.Second)
	require.Equal(t, "stopped", e.now().Rooms[0].Air.State)

	then := func(at string) string {
		code, text := e.get("/rooms/practice/then?at=" + at)
		require.Equal(t, http.StatusOK, code, text)
		return text
	}
	text := then("17:02")
	for i, b := range before.Baths {
		if b.Temperature != nil {
			require.Contains(t, text, fmt.Sprintf("%.1f °C", *b.Temperature), "bath %d", i)
		}
	}
	require.Contains(t, text, "<strong>"+chem.MinutesSeconds(time.Duration(*before.Baths[0].Recommendation.Seconds)*time.Second)+"</strong>")
	require.Contains(t, text, "MOVING")
	require.Contains(t, text, "was announced for Developer by invented instructor")
	require.Contains(t, text, ">5 × 8x10 of resin-coated paper through", "what people entered of a bath is told, not only what was poured")
	require.NotContains(t, text, "STOPPED")

	text = then("17:04")
	require.Contains(t, text, "--.-")
	require.Contains(t, text, "-:--")
	require.Regexp(t, `<li>Developer tray, [^<]*: <strong>missing`, text, "what is not known is named")
	require.Contains(t, text, "Not answered", "the alarm of the plug stood")

	require.Contains(t, then("17:07"), "STOPPED")
	require.Contains(t, then("2026-10-14T16:00"),
		"The record book begins at Wed 14 Oct 2026 17:00 UTC: nothing is known of the time before it.")
	text = then("17:00")
	require.Contains(t, text, "No readings were kept for the minutes before")
	require.Contains(t, text, "no batch entered", "the record still says what was in a tray")
	require.NotContains(t, text, "big-temperature", "nothing of the board is made up")
	code, text := e.get("/rooms/practice/then?at=half+past")
	require.Equal(t, http.StatusBadRequest, code)
	require.Contains(t, text, "is not a past time")
	code, _ = e.get("/rooms/practice/then?at=2027-01-01T10:00")
	require.Equal(t, http.StatusBadRequest, code, "the future can't be looked back at")
	e.stop()
}
