//go:build browser

package browsertest_test

import (
	"testing"
	"time"

	"github.com/chromedp/chromedp"
	"github.com/stretchr/testify/require"

	"wetside/dashboard/viewtest"
	"wetside/rules"
	"wetside/rules/alarm"
	"wetside/rules/record"
	"wetside/sensors/quantity/phrase"
)

func TestThePagesThatProveTheAirStandInBothLooks(t *testing.T) {
	t.Parallel()
	b := browser(t)
	pages := map[string]string{
		"traverse": "/rooms/north/air/traverse?shape=rectangular&width=60cm&height=40cm",
		"air-test": "/rooms/north/air/test?method=decay&points=0%3D1920+3%3D1243+6%3D871+9%3D668+30%3D424&background=420&error=20&empty=yes",
		"figures":  "/rooms/north/alarms/figures?days=7",
	}
	for _, scr := range screens() {
		s := newSite(t)
		crowded(s)
		at := s.Clock.Now().Wall.Add(-time.Hour)
		up := alarm.Alarm{ID: "air-low", State: alarm.Unacknowledged, Text: phrase.Say("The air does not move enough")}
		require.NoError(t, s.Write(record.Record{Kind: rules.AlarmChange, At: at}, rules.Event{Subject: "air-low", From: string(alarm.Normal),
			To: string(up.State), Alarm: &up}))
		require.NoError(t, s.Write(record.Record{Kind: rules.RecordDrill{}.Kind(), Person: "Ida", At: at}, rules.RecordDrill{What: "fan off",
			Found: "all left"}))
		s.keepShowing()
		p := open(t, b, s.host(), scr)
		for name, address := range pages {
			for _, look := range []string{"day", "red"} {
				p.visit(s.server.URL + address + "&look=" + look)
				picture := p.shoot(name+"-"+look, true)
				if look == "red" {
					requireRed(t, picture, name)
				}
				requireFits(p)
			}
		}
		p.blameless()
	}
}

func TestAnAlarmComesOntoTheOpenPageButNotUnderSomebodysFingers(t *testing.T) {
	s := newSite(t)
	s.Begin()
	stop := s.keepShowing()
	p := open(t, browser(t), s.host(), screens()[1])
	p.visit(s.server.URL + "/rooms/north/alarms")
	p.eventually(`document.documentElement.dataset.beat !== undefined`, 5*time.Second)
	value[float64](p, unfold)
	p.run(chromedp.SendKeys(`input[name="drill"]`, "fan off"))
	stop()
	s.Minutes(2, viewtest.Values{Developer: 19.4, Stop: 19.1, Fixer: 18.8, Duct: 0.02}, viewtest.Values{})
	s.keepShowing()
	p.eventually(`document.getElementById("todo").dataset.sound === "act"`, 5*time.Second)
	p.eventually(`!document.getElementById("changed").hidden`, 5*time.Second)
	require.Equal(t, "fan off", value[string](p, `document.querySelector("input[name=drill]").value`), "what was typed is still there")
	p.run(chromedp.Click("#changed a"))
	p.eventually(`document.querySelector(".alarm-info") !== null`, 5*time.Second)
	p.blameless()
}
