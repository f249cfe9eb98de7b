package dashboard_test

import (
	"strings"
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"wetside/chem/ledger"
	"wetside/dashboard/viewtest"
	"wetside/dashboard/web"
	"wetside/rules"
	"wetside/rules/record"
	"wetside/rules/session"
	"wetside/rules/ventilation"
	"wetside/sensors"
	"wetside/sensors/quantity/phrase"
)

// A board that has no reading never says that nothing is to be done.
func TestANewSiteIsToldItsNextStep(t *testing.T) {
	p := newPages(t)
	p.Publish()
	html := p.page("/")
	require.Contains(t, html, "5 probes not found.")
	require.Contains(t, html, `href="/rooms/north/set-up?look=red">Set up for a class</a>`)
	require.NotContains(t, html, "Nothing to do")

	p = evening(t)
	require.Contains(t, p.page("/"), "Nothing to do.")
	p.Silence(8*time.Second, sensors.StateLive)
	p.Doubt("stop", 19, sensors.Reading{At: p.Clock.Now(), Reason: sensors.Jump})
	p.Publish()
	require.NotContains(t, p.page("/"), "Nothing to do", "a tray has no reading")
}

// What follows the developer: the times of chem for both papers, by the temperature of the
// fixer; the wash has no probe, so that its published time says at which temperature it holds.
func TestTheBoardShowsStopFixAndWashOfBothPapers(t *testing.T) {
	html := evening(t).page("/")
	cells := func(row string) string { return rowOf(t, html, row) }
	require.Contains(t, cells("stop"), ">0:10<")
	require.Contains(t, cells("stop"), ">1:00<") // US Army course SS0509, p. 45: a minute for fibre
	// 30 s at 20 °C; double per 10 °C colder (US Army TM 11-2323, par. 33 c): 30 s * 2^0.12 at 18.8 °C,
	// to the next five seconds
	require.Contains(t, cells("fix"), ">0:35<")
	require.Contains(t, cells("fix"), ">5:30<") // 5 min * 2^0.12
	require.NotContains(t, cells("fix"), "at 20°")
	require.Contains(t, cells("wash"), "at 20°")
}

// With wash aid a fibre print is rinsed before it for 5 min (darkside.photography, secondary) and stays in it for 3 min
// (a photographers' forum, secondary): Tonight has a line of each, for which the board has no place. RC has no such bath.
func TestTonightNamesWhatComesBetweenFixerAndWash(t *testing.T) {
	p := evening(t)
	p.Room.Baths = append(p.Room.Baths, rules.Bath{ID: "aid", Name: "Wash aid", Role: rules.WashAid})
	between := func() string {
		p.Minutes(1, viewtest.Usual(), viewtest.Values{})
		p.Publish()
		require.NotContains(t, p.page("/"), `<th scope="row">rinse`)
		return p.page("/rooms/north/tonight")
	}
	require.NotContains(t, between(), `<th scope="row">rinse`, "its tray is empty")
	p.Pour("aid", rules.Portion{Record: 60, Batch: "W1", What: "Wash aid", By: "Ida", Filled: viewtest.Evening()})
	tonight := between()
	require.Regexp(t, `<th scope="row">rinse <small>at 20°</small></th><td></td><td><b [^>]*>5:00<`, tonight)
	require.Regexp(t, `<th scope="row">wash aid</th><td></td><td><b [^>]*>3:00<`, tonight)
}

// The probe of an empty tray reads the air: the board shows the published time and its temperature.
func TestNoFixingTimeRestsOnTheProbeOfAnEmptyTray(t *testing.T) {
	p := newPages(t)
	p.Minutes(3, viewtest.Usual(), viewtest.Values{})
	p.Publish()
	fix := rowOf(t, p.page("/"), "fix")
	require.Contains(t, fix, "<small>at 20°</small>")
	require.Contains(t, fix, ">1:00</b>")
	require.NotContains(t, fix, "0:35")
}

// rowOf is one row of the table of what follows the developer.
func rowOf(t *testing.T, html, row string) string {
	t.Helper()
	_, rest, found := strings.Cut(html, `<tr><th scope="row">`+row)
	require.True(t, found, row)
	rest, _, _ = strings.Cut(rest, "</tr>")
	return rest
}

// The picture of the evening: a line that breaks where nothing was read, the limits, the
// forecast, and a strip of the air.
func TestTheBoardDrawsTheEveningOfEachTrayAndOfTheAir(t *testing.T) {
	p := newPages(t)
	p.Remember(func(q web.SeriesQuery) (web.Series, error) {
		var s web.Series
		for at := q.From; at.Before(q.To); at = at.Add(q.To.Sub(q.From) / time.Duration(q.Points)) {
			if share := float64(at.Sub(q.From)) / float64(q.To.Sub(q.From)); share < 0.4 || share > 0.6 {
				s.Points = append(s.Points, web.SeriesPoint{At: at, Min: 20, Mean: 20, Max: 20, Count: 9})
			}
		}
		return s, nil
	})
	p.FillTrays()
	p.Minutes(20, viewtest.Values{Developer: 20.2, Stop: 19.1, Fixer: 18.8, Duct: 2.9}, viewtest.Values{Developer: -0.06})
	stopped := record.Record{Kind: rules.AirState, Room: "north", At: p.Clock.Now().Wall.Add(-10 * time.Minute)}
	require.NoError(t, p.Write(stopped, rules.Event{From: string(ventilation.Moving), To: string(ventilation.Stopped)}))
	told := record.Record{Kind: rules.AnnounceTime{}.Kind(), Room: "north", At: p.Clock.Now().Wall.Add(-15 * time.Minute)}
	require.NoError(t, p.Write(told, rules.AnnounceTime{Bath: "developer", Seconds: 117}))
	p.Publish()
	html := p.page("/")
	_, developer, _ := strings.Cut(html, `id="bath-developer"`)
	developer, _, _ = strings.Cut(developer, "</section>")
	require.Equal(t, 2, strings.Count(developer, `<polyline points=`), "one line before the gap and one behind it")
	require.Contains(t, developer, `<polyline class="ahead"`)
	require.Contains(t, developer, ">1:57</text>")
	require.Contains(t, developer, `class="spot"`)
	require.Regexp(t, `leaves 18° in \d+`, strings.ReplaceAll(developer, "\u00a0", " "))
	require.Contains(t, html, `<rect class="full" x="0.0%"`)
	require.Contains(t, html, `<rect class="hatched"`)
	p.Pour("developer", rules.Portion{Record: 99, Batch: "B-99", By: "Ida", Filled: p.Clock.Now().Wall.Add(-5 * time.Minute)})
	p.Publish()
	_, developer, _ = strings.Cut(p.page("/"), `id="bath-developer"`)
	developer, _, _ = strings.Cut(developer, "</section>")
	require.Equal(t, 1, strings.Count(developer, `<polyline points=`), "before that its probe lay in the air or in another bath")

	p.Silence(time.Minute, sensors.StateGone)
	p.Publish()
	require.NotContains(t, p.page("/"), `class="spot"`, "a silent probe has no place in the present")
}

func TestABoardSaysThatABathLeavesItsRangeOnceThatIsNear(t *testing.T) {
	for fall, said := range map[float64]bool{-0.06: true, -0.02: false} { // in half an hour, and in an hour and a half
		p := newPages(t)
		p.FillTrays()
		p.Minutes(20, viewtest.Values{Developer: 20.2, Stop: 19.1, Fixer: 18.8, Duct: 2.9}, viewtest.Values{Developer: fall})
		p.Publish()
		require.Equal(t, said, strings.Contains(p.page("/"), `class="leaves live"`), fall)
	}
}

// While a class is set up or works, a tray that holds nothing is the next step.
func TestAnEmptyTrayIsTheNextStepOfAClass(t *testing.T) {
	board := func(phase session.Phase, poured ...string) string {
		p := newPages(t)
		for _, bath := range poured {
			p.Pour(bath, rules.Portion{Record: 41, Batch: "B-17", By: "Ida", Filled: viewtest.Evening()})
		}
		p.Minutes(5, viewtest.Usual(), viewtest.Values{})
		snap := *p.Publish()
		snap.Session.Phase = phase
		p.Show(&snap)
		return p.page("/")
	}
	fill, setUp := `href="/rooms/north/set-up?look=red">Fill the trays</a>`, `href="/rooms/north/set-up?look=red">Set up for a class</a>`
	for _, c := range []struct {
		phase  session.Phase
		poured []string
		empty  string
	}{
		{session.SetUp, nil, "3 trays are still empty."}, {session.SetUp, []string{"developer"}, "2 trays are still empty."},
		{session.SetUp, []string{"developer", "fixer"}, "1 tray is still empty."},
		{session.Open, nil, "3 trays are still empty."}, {session.Open, []string{"stop", "developer"}, "1 tray is still empty."},
		{session.Open, []string{"developer"}, "2 trays are still empty."},
	} {
		html := board(c.phase, c.poured...)
		require.Contains(t, html, c.empty)
		require.Contains(t, html, fill)
		require.NotContains(t, html, "Nothing to do.")
		require.NotContains(t, html, setUp)
	}
	for phase, poured := range map[session.Phase][]string{session.SetUp: {"developer", "stop", "fixer"}, session.Open: {"developer",
		"fixer"}} {
		full := board(phase, poured...)
		require.Contains(t, full, "Nothing to do.", "a wash is never entered, nor is water for a stop bath")
		require.NotContains(t, full, fill)
	}
	require.Contains(t, board(session.TakeDown), `href="/rooms/north/take-down?look=red">Go on taking down</a>`)
	require.NotContains(t, board(session.TakeDown, "fixer"), "still empty", "they are emptied one by one")
	require.Contains(t, board(session.Closed), setUp)
}

// A bath that carries no whole sheet any more is the one thing to do, though its figures are estimates.
func TestABathWithoutASheetLeftIsAskedFor(t *testing.T) {
	p := newPages(t)
	p.FillTrays()
	board := func(sheets float64) string {
		limit := rules.Limit{Verdict: ledger.Pour, Left: []ledger.Left{{Material: ledger.ResinCoated, Sheets: sheets}}}
		p.Pour("fixer", rules.Portion{Record: 41, Batch: "B-17", By: "Ida", Filled: viewtest.Evening(), Known: &rules.Known{Limit: limit}})
		p.Minutes(12, viewtest.Usual(), viewtest.Values{})
		p.Publish()
		return p.page("/")
	}
	require.Contains(t, board(1.2), "Nothing to do.")
	used := board(0.8)
	require.Contains(t, used, "Fixer: no sheet is left by its figures.")
	require.Contains(t, used, "Test it before the next sheet.")
	require.NotContains(t, used, "Nothing to do.")
}

// A bath whose test is due is the one thing to do, and how long it lasts is still said. What was just tested, or can't be, asks nothing.
func TestABathWhoseTestIsDueIsAskedFor(t *testing.T) {
	p := newPages(t)
	p.FillTrays()
	board := func(tested ledger.Tested) string {
		limit := rules.Limit{Verdict: ledger.TestFirst, Tested: tested, Words: phrase.Plain("Used and never tested"),
			Left: []ledger.Left{{Material: ledger.ResinCoated, Sheets: 10, Alone: true}}}
		p.Pour("fixer", rules.Portion{Record: 41, Batch: "B-17", By: "Ida", Filled: viewtest.Evening(), Known: &rules.Known{Limit: limit}})
		p.Minutes(12, viewtest.Usual(), viewtest.Values{})
		p.Publish()
		return p.page("/")
	}
	for _, due := range []ledger.Tested{0, ledger.TestAgain} {
		html := board(due)
		require.Contains(t, html, "Test before the next sheet: Fixer.")
		require.NotContains(t, html, "Nothing to do.")
		require.Contains(t, html, "Fixer, about 10 sheets 8x10 RC as a single bath (estimate)")
	}
	for _, rests := range []ledger.Tested{ledger.JustTested, ledger.NoTest} {
		require.Contains(t, board(rests), "Nothing to do.")
	}
}

// A bath that must not be used is told to be discarded, once: the refusal of the time says why.
func TestTheReasonToDiscardABathIsToldOnce(t *testing.T) {
	p := newPages(t)
	p.FillTrays()
	limit := rules.Limit{Verdict: ledger.Discard, Words: phrase.Plain("open for 12 h, at most 8 h")}
	for _, tray := range []string{"developer", "fixer"} {
		p.Pour(tray, rules.Portion{Record: 41, Batch: "B-17", By: "Ida", Filled: viewtest.Evening(), Known: &rules.Known{Limit: limit}})
	}
	p.Minutes(12, viewtest.Usual(), viewtest.Values{})
	p.Publish()
	html := p.page("/")
	require.Contains(t, html, "No time: this bath must not be used: open for 12 h, at most 8 h")
	require.Contains(t, html, "DISCARD: open for 12 h, at most 8 h")
	require.Equal(t, 2, strings.Count(html, "open for 12 h"), "once in the tray of the developer, once in that of the fixer")
	require.NotContains(t, html, "EXPIRED")
	require.Contains(t, html, "Developer must not be used.", "it is the one thing to do")
	require.NotContains(t, html, "Nothing to do.")
	require.Contains(t, html, "Discard it and refill the tray.")
}

// Water put the mix right where the board had it discarded.
func TestABathThatWasMixedWrongIsPutRightAndNotDiscarded(t *testing.T) {
	p := newPages(t)
	p.FillTrays()
	limit := rules.Limit{Verdict: ledger.Discard, Mix: true, Words: phrase.Plain("The strength is 167 % of what was intended")}
	p.Pour("developer", rules.Portion{Record: 41, Batch: "B-17", By: "Ida", Filled: viewtest.Evening(), Known: &rules.Known{Limit: limit}})
	p.Minutes(12, viewtest.Usual(), viewtest.Values{})
	p.Publish()
	html := p.page("/")
	require.Contains(t, html, "Developer must not be used.")
	require.Contains(t, html, `href="/rooms/north/set-up?more=on&look=red">Put the mix right</a>`)
	require.NotContains(t, html, "Discard it")
}
