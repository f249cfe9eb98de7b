//go:build browser

package browsertest_test

import (
	"testing"
	"time"

	"github.com/chromedp/chromedp"
	"github.com/stretchr/testify/require"

	"wetside/dashboard/web"
	"wetside/rules/truth"
)

func TestProbesAndTheirChecksStandInBothLooks(t *testing.T) {
	t.Parallel()
	b := browser(t)
	for name, path := range map[string]string{"probes-findings": "probes?", "probe-life": "probe/north-developer?",
		"probe-enter": "probe/north-developer/check?method=ice&step=4&"} {
		for _, look := range []string{"day", "red"} {
			for _, scr := range benches() {
				t.Run(name+" "+look+" "+scr.name, func(t *testing.T) {
					s := newSite(t)
					s.Begin()
					s.Probed(s.Stage.Clock.Now().Wall)
					s.keepShowing()
					p := open(t, b, s.host(), scr)
					p.visit(s.server.URL + "/rooms/north/" + path + "look=" + look)
					picture := p.shoot(name+"-"+look, true)
					if look == "red" {
						requireRed(t, picture, name)
					}
					requireFits(p)
					p.blameless()
				})
			}
		}
	}
}

func TestACheckIsGuidedFromTheFirstStepToItsRecord(t *testing.T) {
	s := newSite(t)
	s.Begin()
	s.Probed(s.Stage.Clock.Now().Wall)
	s.Remember(func(q web.SeriesQuery) (web.Series, error) {
		var out web.Series
		for at := q.From; at.Before(q.To.Add(-time.Second)); at = at.Add(time.Second) {
			out.Points = append(out.Points, web.SeriesPoint{At: at, Min: 0.17, Mean: 0.17, Max: 0.17, Count: 1})
		}
		return out, nil
	})
	s.keepShowing()
	p := open(t, browser(t), s.host(), benches()[0])
	p.visit(s.server.URL + "/rooms/north/probe/north-developer/check?method=ice&step=1")
	n := newcomer{tab: p}
	for range 2 {
		n.presses(`.guide .acts a:last-child`, true)
	}
	p.shoot("probe-ice", true)
	p.eventually(`document.querySelector("#steady .stands").textContent.includes("Steady: read it now")`, 5*time.Second)
	n.presses(`.guide .acts a:last-child`, true)
	require.Equal(t, "0.17", value[string](p, `document.querySelector("input[name=as-found]").value`))
	n.types(`input[name=next]`, "2026-07-15")
	n.types(`input[name=who]`, "Ida")
	n.presses(`button[type=submit]`, true)
	require.Contains(t, p.text(".receipt"), "Recorded as number 1.")
	check, ok := s.Commands()[0].Act.(truth.CheckProbe)
	require.True(t, ok)
	require.InDelta(t, 0.17, check.AsFound, 1e-9)
	p.run(chromedp.WaitVisible(`.acts a`))
	p.blameless()
}
