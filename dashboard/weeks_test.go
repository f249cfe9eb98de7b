package dashboard_test

import (
	"errors"
	"net/http"
	"net/url"
	"regexp"
	"strings"
	"testing"
	"time"

	"github.com/stretchr/testify/require"
	"go.uber.org/zap"

	"wetside/dashboard"
	"wetside/dashboard/report"
	"wetside/dashboard/viewtest"
	"wetside/dashboard/web"
	"wetside/sensors/quantity/phrase"
)

// pastPages is a dashboard with an invented record book.
func pastPages(t *testing.T, past *viewtest.Past) *pages {
	t.Helper()
	stage, err := viewtest.NewStage()
	require.NoError(t, err)
	stage.Begin()
	stage.Publish()
	server, err := dashboard.New(dashboard.Options{View: stage, Reports: viewtest.NewReports(), Past: past, Log: zap.NewNop(),
		Clock: stage.Clock})
	require.NoError(t, err)
	t.Cleanup(server.Close)
	return &pages{stage, server, t}
}

func TestTheWeeksSayOfEachEveningWhatIsKnownOfItsAir(t *testing.T) {
	text := pastPages(t, viewtest.NewPast()).page("/weeks")
	for _, want := range []string{"<b>2 h 52 min</b> proven", "Not all proven", "Not all known", "Nothing proven",
		"<b>24 min</b> too low or stopped", "<b>31 min</b> not known", "<b>32 min</b> too low or stopped", "<b>2 h 20 min</b> not known",
		"<b>0 min</b> proven", "No tray uncovered",
		"<b>< 1 min</b> too low or stopped", "Thu 15 Jan", "since 18:41, still running", "12 Jan to 18 Jan", "2 duties are overdue.",
		"Report for these weeks",
		// 985 min in all; proven are 172+141+149+88+0+177 2/3, not known 31+30+140, the rest was measured and not enough.
		"In 7 sessions trays stood open for 16 h 25 min. Airflow was proven for 12 h 8 min, 73.8 % of it.",
		"<dd>56 min</dd>", "<dd>3 h 21 min</dd>"} {
		require.Contains(t, text, want)
	}
	require.Equal(t, 6, strings.Count(text, `class="air-bar"`), "what was never uncovered has no bar")
	require.Equal(t, 3, strings.Count(text, `<rect class="air-unproven"`))
	require.Equal(t, 3, strings.Count(text, `<rect class="air-unknown"`))
	require.Contains(t, text, `/rooms/north/history?from=2026-01-15T18%3A26`)
	require.Contains(t, text, `/report?from=2026-01-15&to=2026-01-15`)
	require.Less(t, strings.Index(text, "12 Jan to 18 Jan"), strings.Index(text, "5 Jan to 11 Jan"), "the latest week comes first")
}

// Evening in the viewtest is a Thursday; nobody ended this session and nobody answered its alarm before Saturday.
func TestAnEndOnAnotherDayIsShownWithItsDay(t *testing.T) {
	begun := viewtest.Evening().AddDate(0, 0, -7)
	ended := begun.Add(40 * time.Hour)
	p := pastPages(t, &viewtest.Past{Evenings: []report.Session{{Number: 1, Room: "north", Begun: begun, Ended: ended}},
		Alarms: []report.Alarm{{Room: "north", Text: phrase.Plain("The air does not move."), Raised: begun, Cleared: ended}}})
	require.Regexp(t, `to Sat 10 Jan \d\d:\d\d CET`, p.page("/weeks"))
	history := p.page(historyOf(begun.Add(-time.Hour), ended.Add(time.Hour)))
	for _, table := range []string{"Sessions", "Alarms"} {
		require.Regexp(t, `(?s)aria-label="`+table+`"[^>]*>.{1,700}<td>Sat 10 Jan \d\d:\d\d CET</td>`, history)
	}
}

func TestWeeksWithoutAnySessionSayThatThisIsNoProof(t *testing.T) {
	text := pastPages(t, &viewtest.Past{}).page("/weeks?to=2024-03-01")
	require.Contains(t, text, "No session is recorded in these weeks. That does not mean that nobody worked here.")
	require.Contains(t, text, "26 Feb to 3 Mar")
	later := regexp.MustCompile(`href="([^"]*)" rel="next"`).FindStringSubmatch(text)
	require.Len(t, later, 2)
	require.Contains(t, later[1], "to=2024-04-28")
}

func TestATimeThatLiesAheadIsNotCalledEmpty(t *testing.T) {
	p := pastPages(t, &viewtest.Past{})
	require.Contains(t, p.page("/weeks?to=2126-03-01"), "These weeks are in the future.")
	text := p.page("/rooms/north/history?channel=north-developer&from=2126-03-01&to=2126-04-01")
	require.Contains(t, text, "This period is in the future")
	require.NotContains(t, text, "Nothing was measured")
}

func TestTimesOfEveryLengthAreDrawnOrRefusedInASentence(t *testing.T) {
	p := pastPages(t, &viewtest.Past{})
	p.Remember(nightlyOff)
	const bound = "The end must be after the beginning: at least a minute, at most a hundred years later."
	for span, want := range map[string]string{
		"from=1996-01-15&to=2026-01-15": "Developer tray", // thirty years
		"from=2026-01-15&to=2026-01-14": bound,
		"from=2026-01-15&to=2026-01-15": bound,
		"from=1000-01-01&to=2026-01-15": bound,
		"from=soon":                     "is not a time: write it like",
	} {
		out := p.get("/rooms/north/history?" + span)
		require.Contains(t, out.Body.String(), want, span)
		require.Equal(t, want == "Developer tray", out.Code == http.StatusOK, span)
	}
}

func TestWeeksThatCanNotBeShownSayWhy(t *testing.T) {
	p := pastPages(t, &viewtest.Past{Err: errors.New("the history file is locked by another program")})
	out := p.get("/weeks")
	require.Equal(t, http.StatusServiceUnavailable, out.Code)
	require.Contains(t, out.Body.String(), "locked by another program")
	require.Equal(t, http.StatusBadRequest, p.get("/weeks?to=soon").Code)
	require.Contains(t, p.get("/weeks?look=red").Body.String(), `data-look="red"`)
}

// historyOf is the address of the history of a time.
func historyOf(from, to time.Time) string {
	return "/rooms/north/history?from=" + url.QueryEscape(from.Format(time.RFC3339)) + "&to=" + url.QueryEscape(to.Format(time.RFC3339))
}

func TestSessionsAndAlarmsStandBesideTheReadings(t *testing.T) {
	p := pastPages(t, viewtest.NewPast())
	fourth := viewtest.Evening().AddDate(0, 0, -6)
	text := p.page(historyOf(fourth.Add(-2*time.Hour), fourth.Add(4*time.Hour)) + "&channel=air:flow")
	for _, want := range []string{"Airflow", "m³/h", `class="chart-session"`, "acknowledged after 3 min by Ida: timer turned on again",
		"no session was open and no tray filled any more", "Evening class"} {
		require.Contains(t, text, want)
	}
	wide, _, _ := strings.Cut(text, `class="narrow"`)
	require.Equal(t, 2, strings.Count(wide, `class="chart-band"`), "each part of the time has the band of its settings")
	require.Equal(t, 2, strings.Count(wide, `class="chart-alarm"`))
	require.Equal(t, 1, strings.Count(wide, `class="chart-tick"`))
}

func TestSeveralChannelsAreDrawnOnOneAxisOfTime(t *testing.T) {
	p := pastPages(t, viewtest.NewPast())
	p.Remember(minutely)
	text := p.page("/rooms/north/history?channel=north-developer&channel=north-fixer&channel=air:flow")
	require.Equal(t, 1, strings.Count(text, `data-readings="{"from":`), "one line tells the values of all")
	plots := regexp.MustCompile(`data-plot="(\S+) \S+ (\S+) `).FindAllStringSubmatch(text, -1)
	require.Len(t, plots, 6, "each in two sizes")
	for i := 2; i < len(plots); i++ {
		require.Equal(t, plots[i%2][1:], plots[i][1:], "all plots of a size begin and end at one place")
	}
	require.Contains(t, text, "Channels: Airflow, Developer tray, Fixer tray</span>")
	require.Equal(t, 2, strings.Count(text, `class="chart-session"`), "sessions stand above the first, in both sizes")
	require.Equal(t, 2, strings.Count(text, ">CET</text>"), "the times stand below the last, in both sizes")
	for _, name := range []string{"Airflow", "Developer tray", "Fixer tray"} {
		require.Regexp(t, `<h2 class="drawn" dir="auto"><a href="history\?channel=[^&"]*&from=[^"]*">`+name, text, "leads to that one alone")
	}
	require.Equal(t, http.StatusNotFound, p.get("/rooms/north/history?channel=north-developer&channel=nowhere").Code)
}

func TestHistoryBeginsWithTheSessionAndItsAirAndTrays(t *testing.T) {
	past := viewtest.NewPast()
	p := pastPages(t, past)
	p.Remember(minutely)
	text := p.page("/rooms/north/history")
	require.Regexp(t, `aria-current="true">This session<`, text)
	require.Contains(t, text, `<span class="shown">Thu 15 Jan 2026 18:26 to 20:46 CET</span>`)
	require.Contains(t, text, `value="air:flow" checked="checked"`)
	require.Contains(t, text, `value="north-developer" checked="checked"`)
	require.NotContains(t, text, `value="north-duct" checked="checked"`)

	past.Evenings = past.Evenings[:6]
	text = p.page("/rooms/north/history")
	require.Regexp(t, `aria-current="true">Last session<`, text)
	require.Contains(t, text, `<span class="shown">Tue 13 Jan 2026 18:26 to 22:57 CET<`)

	past.Evenings = nil
	require.Regexp(t, `aria-current="true">6 hours<`, p.page("/rooms/north/history"), "without a session it is the evening until now")
}

// yearOfEvenings is a book of 250 evenings with twelve alarms each.
func yearOfEvenings() *viewtest.Past {
	past := &viewtest.Past{}
	for i := range 250 {
		begun := viewtest.Evening().Add(-time.Duration((250-i)*35) * time.Hour)
		past.Evenings = append(past.Evenings, report.Session{Room: "north", Begun: begun, Ended: begun.Add(3 * time.Hour)})
		for a := range 12 {
			past.Alarms = append(past.Alarms, report.Alarm{Room: "north", Text: phrase.Plain("The air does not move."),
				Raised: begun.Add(time.Duration(a*10) * time.Minute), Cleared: begun.Add(time.Duration(a*10+5) * time.Minute)})
		}
	}
	return past
}

// nightlyOff is a year in which the computer was switched off every night, so that
// each point of the drawing stands between two gaps.
func nightlyOff(q web.SeriesQuery) (web.Series, error) {
	var s web.Series
	for i := range q.Points {
		at := q.From.Add(q.To.Sub(q.From) / time.Duration(q.Points) * time.Duration(i))
		s.Points = append(s.Points, web.SeriesPoint{At: at, Min: 19.13, Mean: 20.17 + float64(i%7)/10, Max: 23.37, Count: 52000 + i})
		s.Gaps = append(s.Gaps, web.SeriesGap{From: at, To: at.Add(4 * time.Hour), Cause: "machine off"})
	}
	return s, nil
}

func TestAYearOfAlarmsAndSessionsStaysSmall(t *testing.T) {
	p := pastPages(t, yearOfEvenings())
	p.Remember(nightlyOff)
	from := viewtest.Evening().AddDate(-1, 0, 0)
	text := p.page(historyOf(from, viewtest.Evening()) + "&channel=north-developer")
	require.Less(t, len(text), 106_000, "with the navigation of a phone beside that of a desk")
	require.Contains(t, text, "alarms</title>")
	require.Contains(t, text, `class="chart-range"`, "a column between two gaps keeps its lowest and highest")
}
