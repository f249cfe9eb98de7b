//go:build browser

package browsertest_test

import (
	"context"
	"strings"
	"testing"
	"time"

	"github.com/chromedp/chromedp"
	"github.com/stretchr/testify/require"

	"wetside/chem/ledger"
	"wetside/dashboard/viewtest"
	"wetside/dashboard/web"
	"wetside/rules"
	"wetside/sensors/quantity/phrase"
)

// moving is an invented evening of the duct's probe in m/s, with a fan that came on late.
func moving(q web.SeriesQuery) (web.Series, error) {
	var s web.Series
	step := q.To.Sub(q.From) / time.Duration(q.Points)
	for at := q.From; at.Before(q.To); at = at.Add(step) {
		u := 2.9
		if at.Sub(q.From) < 2*time.Hour {
			u = 0.02
		}
		s.Points = append(s.Points, web.SeriesPoint{At: at, Min: u - 0.02, Mean: u, Max: u + 0.05, Count: 36})
	}
	return s, nil
}

// crowded is a room in which everything is said at its longest.
func crowded(s *site) {
	s.Commission()
	s.Breathe()
	s.Minutes(2, viewtest.Usual(), viewtest.Values{}) // the calendar is asked once a minute
	long := strings.Repeat("Warm-tone developer for fibre paper ", 5)
	s.FillTrays()
	s.Pour("developer", rules.Portion{Record: 41, Batch: "PD-17-2026-very-long-label-of-a-batch", What: long, By: "Ida",
		Filled: viewtest.Evening(), Concentrate: 1, Water: 9, Volume: 2000, Known: limited()})
	s.Pour("fixer", rules.Portion{Record: 42, Batch: "FX-4", What: long, By: "Ida", Filled: viewtest.Evening(), Concentrate: 1, Water: 4,
		Volume: 2000, Known: limited()})
	s.Room.Name = "North darkroom on the second floor of the old wing"
	s.Minutes(20, viewtest.Values{Developer: 19.2, Stop: 19.1, Fixer: 18.8, Duct: 2.9}, viewtest.Values{Developer: -0.06})
	s.Minutes(2, viewtest.Values{Developer: 17.4, Stop: 15.2, Fixer: 18.8, Duct: 0.9}, viewtest.Values{})
}

// limited is a bath whose book says a long thing of what limits it.
func limited() *rules.Known {
	left := []ledger.Left{{Material: ledger.ResinCoated, Sheets: 142}, {Material: ledger.FibreBased, Sheets: 71}}
	return &rules.Known{Limit: rules.Limit{Verdict: ledger.Pour, Left: left}}
}

func TestTheBoardHoldsTheLongestTextsInTheirPlaces(t *testing.T) {
	b := browser(t)
	for _, scr := range screens() {
		s := newSite(t)
		crowded(s)
		snap := *s.Publish()
		snap.Notices = append(snap.Notices, phrase.Plain(strings.Repeat("A notice that goes on and on, as long as a notice can be. ", 4)),
			phrase.Say("A second notice."), phrase.Say("A third notice."))
		s.Show(&snap)
		s.keepAgain()
		p := open(t, b, s.host(), scr)
		p.visit(s.server.URL + "/")
		p.eventually(`document.documentElement.dataset.beat !== undefined`, 3*time.Second)
		for range 3 {
			p.run(chromedp.KeyEvent("s"))
			time.Sleep(200 * time.Millisecond)
		}
		requireRed(t, p.shoot("board-crowded", true), "a crowded board")
		require.Empty(t, value[string](p, spilt), "what does not fit its place")
		requireFits(p)
		if scr.name == "desk" {
			require.LessOrEqual(t, value[float64](p, `document.documentElement.scrollHeight`), float64(scr.height), "the board is one screen")
		}
		p.blameless()
	}
}

func TestThePagesOfAirAndAlarmsStandInBothLooks(t *testing.T) {
	t.Parallel()
	b := browser(t)
	for _, name := range []string{"air", "alarms"} {
		for _, look := range []string{"day", "red"} {
			for _, scr := range screens() {
				s := newSite(t)
				crowded(s)
				s.Remember(moving)
				s.keepShowing()
				p := open(t, b, s.host(), scr)
				p.visit(s.server.URL + "/rooms/north/" + name + "?look=" + look)
				p.shoot(name+"-folded-"+look, true)
				value[float64](p, unfold)
				picture := p.shoot(name+"-"+look, true)
				if look == "red" {
					requireRed(t, picture, name)
				}
				requireFits(p)
				p.blameless()
			}
		}
	}
}

func TestAnAlarmIsAnsweredInTheBrowser(t *testing.T) {
	s := newSite(t)
	s.Begin()
	s.Minutes(2, viewtest.Values{Developer: 19.4, Stop: 19.1, Fixer: 18.8, Duct: 0.02}, viewtest.Values{})
	s.keepShowing()
	s.Answer(func(_ context.Context, c rules.Command) (rules.Receipt, error) {
		return rules.Receipt{Number: 7, Sentence: phrase.Plain(c.Act.Kind() + " by " + c.Person)}, nil
	})
	p := open(t, browser(t), s.host(), screens()[1])
	p.visit(s.server.URL + "/rooms/north/alarms?look=red")
	p.run(chromedp.Click(".card.alarm summary"))
	p.run(chromedp.SendKeys(`.card.alarm input[name="done"]`, "switched the fan on"), chromedp.Click(`.card.alarm button[type="submit"]`))
	p.eventually(`document.getElementById("problem") !== null`, 5*time.Second)
	require.Equal(t, "switched the fan on", value[string](p, `document.querySelector(".card.alarm input[name=done]").value`),
		"what was typed is still there")
	requireRed(t, p.shoot("alarm-problem", true), "a form with a problem")
	p.run(chromedp.SendKeys(`.card.alarm input[name="who"]`, "Ida"), chromedp.Click(`.card.alarm button[type="submit"]`))
	p.eventually(`document.querySelector(".receipt") !== null`, 5*time.Second)
	require.Contains(t, p.text(".receipt"), "Alarm acknowledged by Ida")
	p.blameless()
}
