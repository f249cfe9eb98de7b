//go:build browser

package browsertest_test

import (
	"testing"

	"github.com/chromedp/chromedp"
	"github.com/stretchr/testify/require"

	"wetside/daemon/northtest"
)

func TestDutiesAndReportsStandInBothLooks(t *testing.T) {
	t.Parallel()
	b := browser(t)
	for name, path := range map[string]string{"duties": "/duties?", "keeper": "/keeper?", "report-ask": "/report?",
		"report": "/report?from=2026-01-01&to=2026-01-31"} {
		for _, look := range []string{"day", "red"} {
			for _, scr := range benches() {
				t.Run(name+" "+look+" "+scr.name, func(t *testing.T) {
					s := newSite(t)
					s.Begin()
					s.keepShowing()
					p := open(t, b, s.host(), scr)
					p.visit(s.server.URL + path + "&look=" + look)
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

func TestADutyIsEnteredInTheBrowser(t *testing.T) {
	s := northtest.Start(t)
	p := open(t, browser(t), s.Host(), benches()[0])
	p.visit(s.Daemon.URL() + "/duties")
	n := newcomer{tab: p}
	p.run(chromedp.Click(`section:first-of-type summary`))
	n.types(`section:first-of-type input[name=evidence]`, "ran three minutes, clear")
	n.types(`section:first-of-type input[name=who]`, "Ida")
	n.presses(`section:first-of-type button[type=submit]`, true)
	require.Contains(t, p.text(".receipt"), "Done, entered by Ida.")
	p.run(chromedp.WaitVisible(".duty"))
	p.blameless()
}
