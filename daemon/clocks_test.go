package daemon_test

import (
	"io"
	"net/http"
	"net/url"
	"strings"
	"testing"
	"time"

	"github.com/stretchr/testify/require"
)

// press sends one press of a clock's button as the pages do, and gives the answer.
func (e *evening) press(form url.Values) (int, string) {
	r, err := http.NewRequestWithContext(e.ctx, http.MethodPost, e.daemon.URL()+"/rooms/practice/clock", strings.NewReader(form.Encode()))
	require.NoError(e, err)
	r.Header.Set("Content-Type", "application/x-www-form-urlencoded")
	r.Header.Set("Accept", "text/plain")
	answer, err := http.DefaultClient.Do(r)
	require.NoError(e, err)
	defer answer.Body.Close()
	body, err := io.ReadAll(answer.Body)
	require.NoError(e, err)
	return answer.StatusCode, string(body)
}

func TestAClockFollowsItsBathSaysWhenTheProbeIsSilentAndEndsWithTheDaemon(t *testing.T) {
	e := newEvening(t, "0s fill trays; 0s start fan; 40s pull trays 10m")
	e.until(5 * time.Second)
	start := url.Values{"act": {"start"}, "bath": {"developer"}}
	code, _ := e.press(start)
	require.Equal(t, http.StatusNoContent, code, "the sheet goes in although there is no time for it")
	_, page := e.get("/rooms/practice/clock")
	require.Contains(t, page, "This clock only counts up, since there is no time: no batch is entered for this tray.")
	require.Contains(t, page, `data-up=""`)
	code, _ = e.press(url.Values{"act": {"undo"}, "version": {"1"}})
	require.Equal(t, http.StatusNoContent, code)
	e.fillTrays()
	e.until(10 * time.Second)
	code, why := e.press(url.Values{"act": {"start"}, "bath": {"fixer-1"}})
	require.Equal(t, http.StatusConflict, code)
	require.Contains(t, why, `no developer "fixer-1"`)

	start.Set("version", "2")
	code, _ = e.press(start)
	require.Equal(t, http.StatusNoContent, code)
	promised := *e.now().Rooms[0].Baths[0].Recommendation.Seconds
	e.until(30 * time.Second)
	_, page = e.get("/rooms/practice/clock")
	require.Contains(t, page, `data-state="running"`)
	require.NotContains(t, page, "silent")

	e.until(65 * time.Second)
	_, page = e.get("/rooms/practice/clock")
	require.Contains(t, page, "the clock goes by the trend of the last minutes")
	e.until(10*time.Second + time.Duration(1.2*promised)*time.Second)
	_, page = e.get("/rooms/practice/clock")
	require.Contains(t, page, `data-state="done"`)

	code, _ = e.press(url.Values{"act": {"remove"}, "number": {"1"}, "version": {"3"}})
	require.Equal(t, http.StatusNoContent, code)
	code, _ = e.press(url.Values{"act": {"undo"}, "version": {"4"}})
	require.Equal(t, http.StatusNoContent, code)
	_, page = e.get("/rooms/practice/clock")
	require.Contains(t, page, `data-state="done"`)

	e.end()
	require.NoError(t, <-e.ended)
	e.start()
	_, page = e.get("/rooms/practice/clock")
	require.Contains(t, page, "No timer is running", "clocks are no records of the book")
	e.stop()
}
