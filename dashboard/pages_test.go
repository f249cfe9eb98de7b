package dashboard_test

import (
	"context"
	"errors"
	"net/http"
	"net/http/httptest"
	"regexp"
	"strings"
	"testing"
	"time"

	"github.com/stretchr/testify/require"
	"go.uber.org/zap"

	"wetside/dashboard"
	"wetside/dashboard/formtest"
	"wetside/dashboard/viewtest"
	"wetside/dashboard/web"
	"wetside/rules"
	"wetside/sensors"
	"wetside/sensors/quantity/phrase"
)

func TestTheBoardSaysTheTimeItsReasonTheAirAndThatTheRoomIsSimulated(t *testing.T) {
	html := evening(t).page("/")
	for _, words := range []string{">2:06<", "from 2:00 at 20 °C, +6 s for 19.4 °C", ">19.4<", ">22°<", ">18°<", "MOVING", "min 8.0",
		"Nothing to do.", "SIMULATED ROOM", "no probe fitted", "White light may go on once all paper and film are put away."} {
		require.Contains(t, html, words)
	}
	require.NotContains(t, html, "batch PD-17", "what was poured is on the page of the baths")
	require.NotContains(t, html, "1:9")
	require.Less(t, strings.Index(html, "background:#000"), strings.Index(html, "<link"),
		"the colour comes before anything that must be fetched")
}

func TestTheMarkOfASimulatedRoomStandsOnEveryPageAndOnNoRealOne(t *testing.T) {
	p := evening(t)
	paths := []string{"/", "/rooms/north/board", "/rooms/north/probes", "/rooms/north/baths", "/rooms/north/history", "/nowhere"}
	for _, path := range paths {
		require.Regexp(t, `(?i)simulated room`, p.get(path).Body.String(), path)
	}
	real := *p.Now()
	real.Simulated = false
	server, err := dashboard.New(dashboard.Options{View: viewtest.New(real), Log: zap.NewNop(), Clock: p.Clock})
	require.NoError(t, err)
	t.Cleanup(server.Close)
	for _, path := range paths {
		out := httptest.NewRecorder()
		server.ServeHTTP(out, httptest.NewRequest(http.MethodGet, path, nil))
		require.NotRegexp(t, `(?i)simulated`, out.Body.String(), path)
	}
}

// odd is a temperature that no other figure of a page can be taken for.
const odd = 19.7

func TestAValueThatHasGoneStaleIsOnNoPage(t *testing.T) {
	for name, silence := range map[string]func(*pages){
		"plug pulled":   func(p *pages) { p.Silence(time.Minute, sensors.StateGone) },
		"probe silent":  func(p *pages) { p.Silence(time.Minute, sensors.StateSilent) },
		"value doubted": func(p *pages) { p.Doubt("developer", odd, sensors.Reading{At: p.Clock.Now(), Reason: sensors.Jump}) },
	} {
		t.Run(name, func(t *testing.T) {
			p := newPages(t)
			p.FillTrays()
			p.Minutes(5, viewtest.Values{Developer: odd, Stop: odd, Fixer: odd, Duct: 2.9}, viewtest.Values{})
			p.Publish()
			require.Contains(t, p.page("/"), "19.7")
			silence(p)
			if name == "value doubted" {
				p.Doubt("stop", odd, sensors.Reading{At: p.Clock.Now(), Reason: sensors.FlatLine})
				p.Doubt("fixer", odd, sensors.Reading{At: p.Clock.Now(), Reason: sensors.OutOfRange})
			}
			p.Publish()
			for _, path := range []string{"/", "/rooms/north/baths", "/api/now"} {
				require.NotContains(t, p.get(path).Body.String(), "19.7", path)
			}
			board := p.page("/")
			require.Contains(t, board, "--.-")
			require.Contains(t, board, "-:--")
			require.Contains(t, board, "no good reading since 20:46")
			require.NotContains(t, regexp.MustCompile(`<td class="value".*?</td>`).FindString(p.page("/rooms/north/probes")), "19.7")
		})
	}
}

func TestABoardOnWhichNothingIsKnownSaysSo(t *testing.T) {
	p := newPages(t)
	p.Publish()
	html := p.page("/")
	for _, words := range []string{"no reading yet", "--.-", "-:--", "no batch entered", "NOT PROVEN", "No good reading",
		"No time: no batch is entered for this tray."} {
		require.Contains(t, html, words)
	}
	require.NotRegexp(t, `>0\.0<`, html)
}

func TestTheBoardShowsTheMostUrgentUnseenAlarm(t *testing.T) {
	p := evening(t)
	p.Minutes(2, viewtest.Values{Developer: 17, Stop: 19, Fixer: 19, Duct: 0.02}, viewtest.Values{})
	snap := p.Publish()
	require.Greater(t, len(snap.Alarms), 1)
	html := p.page("/")
	require.Regexp(t, `(?s)class="todo urgent".*HALT.*The fan is on, but no air moves\..*Check the belt`, html)
	require.Contains(t, html, "1 more")
	require.Contains(t, html, "STOPPED")
	require.Contains(t, html, "TOO COLD")

	p.Show(viewtest.Acknowledge(*snap))
	html = p.page("/")
	require.Contains(t, html, "SEEN")
	require.NotContains(t, html, "HALT")
}

func TestSeveralRoomsHaveARedIndexAndBoardsOfTheirOwn(t *testing.T) {
	p := evening(t)
	south, err := viewtest.NewScene("south", "South darkroom")
	require.NoError(t, err)
	p.Show(p.Now().Rooms[0], south.Look(p.Clock.Now()))
	index := p.page("/")
	require.Contains(t, index, `href="/rooms/north/board"`)
	require.Contains(t, index, `href="/rooms/south/board"`)
	require.Contains(t, index, ">2:06<")
	require.Contains(t, p.page("/rooms/south/board"), "South darkroom")
	require.Contains(t, p.page("/rooms/south/board"), "All rooms")
	p.Show()
	require.Contains(t, p.page("/"), "No room is configured")
}

func TestTheProbesPageTellsTheKeeperWhereToLook(t *testing.T) {
	p := evening(t)
	html := p.page("/rooms/north/probes")
	for _, words := range []string{"/dev/serial/by-id/usb-invented-bench-if00", "checked text", "live", "developer 19.4 C *5A",
		"devel··19.4 C *00",
		"60 a minute", "18\u202f231 good", "4 with a wrong checksum", "2 times", "19.4 °C", "2.90 m/s", "bath temperature", ">on<"} {
		require.Contains(t, html, words)
	}
	require.Contains(t, p.page("/rooms/north/probe/north-developer"), "Plausible: 0.0 to 60.0 °C. Missing after ")
	p.Silence(time.Minute, sensors.StateGone)
	p.Publish()
	html = p.page("/rooms/north/probes")
	require.Contains(t, html, "gone")
	require.Contains(t, html, ">device gone<")
	require.Contains(t, html, "last good reading at 20:46:00")
}

func TestRefusalsAndErrorsAreRedPages(t *testing.T) {
	p := evening(t)
	for path, want := range map[string]struct {
		status int
		words  string
	}{
		"/nowhere":                             {http.StatusNotFound, "no page at this address"},
		"/rooms/west/board":                    {http.StatusNotFound, "no room with this name"},
		"/rooms/west/events":                   {http.StatusNotFound, "no room with this name"},
		"/assets/nothing.css":                  {http.StatusNotFound, "no page at this address"},
		"/rooms/north/history?channel=nothing": {http.StatusNotFound, "no such channel"},
		"/rooms/north/history?from=yesterday":  {http.StatusBadRequest, "is not a time"},
		"/rooms/north/history?from=2026-01-15T18:00:00Z&to=2026-01-15T17:00:00Z": {http.StatusBadRequest, "after the beginning"},
		"/rooms/north/history?from=1826-01-15T18:00:00Z&to=2026-01-15T17:00:00Z": {http.StatusBadRequest, "a hundred years"},
	} {
		out := p.get(path)
		require.Equal(t, want.status, out.Code, path)
		require.Contains(t, out.Body.String(), want.words, path)
		require.Contains(t, out.Body.String(), `data-look="red"`, path)
		formtest.Whole(t, out.Body.String())
	}
	out := httptest.NewRecorder()
	p.ServeHTTP(out, httptest.NewRequest(http.MethodDelete, "/rooms/north/board", nil))
	require.Equal(t, http.StatusMethodNotAllowed, out.Code)
	require.Contains(t, out.Header().Get("Allow"), "GET")
	require.Contains(t, out.Body.String(), `data-look="red"`)
}

// broken is a view whose answers panic.
type broken struct{ *viewtest.View }

func (broken) Series(context.Context, web.SeriesQuery) (web.Series, error) {
	panic("invented fault")
}

func TestAPageThatPanicsIsARedPageToo(t *testing.T) {
	p := evening(t)
	server, err := dashboard.New(dashboard.Options{View: broken{p.View}, Log: zap.NewNop(), Clock: p.Clock})
	require.NoError(t, err)
	t.Cleanup(server.Close)
	out := httptest.NewRecorder()
	server.ServeHTTP(out, httptest.NewRequest(http.MethodGet, "/rooms/north/history", nil))
	require.Equal(t, http.StatusInternalServerError, out.Code)
	require.Contains(t, out.Body.String(), `data-look="red"`)
	require.NotContains(t, out.Body.String(), "invented fault")
}

func TestEveryAnswerForbidsWhatIsNotOurs(t *testing.T) {
	p := evening(t)
	for _, path := range []string{"/", "/rooms/north/probes", "/nowhere", "/api/now", "/healthz", "/assets/live.js"} {
		h := p.get(path).Header()
		policy := h.Get("Content-Security-Policy")
		require.Contains(t, policy, "default-src 'none'")
		require.Contains(t, policy, "frame-ancestors 'none'")
		require.NotContains(t, policy, "unsafe")
		require.Equal(t, "nosniff", h.Get("X-Content-Type-Options"))
		require.Equal(t, "same-origin", h.Get("Referrer-Policy"))
	}
	require.Equal(t, "no-store", p.get("/").Header().Get("Cache-Control"))
	require.Contains(t, p.get("/assets/live.js").Header().Get("Cache-Control"), "immutable")
}

func TestNoPageAsksForAnythingOutsideAndEachIsSmall(t *testing.T) {
	p := evening(t)
	outside := regexp.MustCompile(`(?:src|href|action)="(?:[a-z]+:)?//|url\([^)]*[:/]|@import`)
	for _, path := range []string{"/", "/rooms/north/probes", "/rooms/north/baths", "/rooms/north/history", "/nowhere"} {
		html := p.get(path).Body.String()
		require.NotRegexp(t, outside, html, path)
		total := len(html)
		for _, m := range regexp.MustCompile(`/assets/[a-z-]+\.(?:css|js|svg)`).FindAllString(html, -1) {
			body := p.get(m).Body.String()
			require.NotRegexp(t, outside, body, m)
			total += len(body)
		}
		require.Less(t, total, 100_000, path)
	}
}

// One font for every page, with figures of one width, and its licence beside it as the SIL Open Font License asks.
func TestEveryPageIsSetInTheFontThatIsServedWithItsLicence(t *testing.T) {
	p := evening(t)
	require.Contains(t, p.page("/"), "/assets/font.css")
	sum := 0
	for _, m := range fonts.FindAllStringSubmatch(p.get("/assets/font.css").Body.String(), -1) {
		out := p.get("/assets/" + m[1])
		require.Equal(t, "font/woff2", out.Header().Get("Content-Type"), m[1])
		require.True(t, strings.HasPrefix(out.Body.String(), "wOF2"), m[1])
		sum += out.Body.Len()
	}
	require.Less(t, sum, 60_000)
	require.Greater(t, sum, 20_000, "two weights")
	require.Equal(t, "application/manifest+json", p.get("/assets/wetside.webmanifest").Header().Get("Content-Type"))
	require.Contains(t, p.get("/assets/b612-licence.txt").Body.String(), "SIL OPEN FONT LICENSE Version 1.1")
	for _, style := range []string{"board.css", "pages.css"} {
		require.Contains(t, p.get("/assets/"+style).Body.String(), "B612,", style)
	}
}

func TestHealthIsASentence(t *testing.T) {
	p := evening(t)
	require.Equal(t, http.StatusOK, p.get("/healthz").Code)
	require.Equal(t, "ok\n", p.get("/healthz").Body.String())
	p.Ail(errors.New("history can't be written: the disk is full; free some space"))
	out := p.get("/healthz")
	require.Equal(t, http.StatusServiceUnavailable, out.Code)
	require.Contains(t, out.Body.String(), "free some space")
	require.Equal(t, "figures\n", p.get("/metrics").Body.String())
}

func TestHistoryThatIsNotKeptIsSaid(t *testing.T) {
	p := evening(t)
	p.History(rules.HistoryView{Sentence: phrase.Say("The disk is full: free some space.")})
	p.Silence(30*time.Second, sensors.StateLive)
	p.Publish()
	require.Contains(t, p.page("/"), "History is not being kept")
}

func TestADashboardNeedsItsParts(t *testing.T) {
	_, err := dashboard.New(dashboard.Options{})
	require.ErrorContains(t, err, "needs a view")
}
