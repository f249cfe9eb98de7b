//go:build browser

package browsertest_test

import (
	"testing"
	"time"

	"github.com/chromedp/chromedp"
	"github.com/chromedp/chromedp/kb"
	"github.com/stretchr/testify/require"

	"wetside/daemon/northtest"
)

func TestATestOfTheScreenIsGuidedAndKept(t *testing.T) {
	s := northtest.Start(t)
	p := open(t, browser(t), s.Host(), benches()[0])
	p.visit(s.Daemon.URL() + "/screen")
	p.shoot("screen-day", true)
	requireFits(p)

	p.visit(s.Daemon.URL() + "/screen/light")
	requireRed(t, p.shoot("screen-light", false), "the light of the test")
	p.run(chromedp.KeyEvent(kb.Enter))
	p.eventually(`document.querySelector(".light-parts li.running .light-left").textContent === "0:58"`, 10*time.Second)
	requireRed(t, p.shoot("screen-light-running", false), "the light of the test, counted down")

	p.visit(s.Daemon.URL() + "/screen?look=red")
	requireRed(t, p.shoot("screen-red", true), "the guide")
	n := newcomer{tab: p}
	p.run(chromedp.Click(`main details summary`))
	for name, text := range map[string]string{"screen": "lab computer", "brightness": "lowest", "paper": "grade 2 glossy",
		"lay": "beside the developer", "who": "Ida"} {
		n.types(`input[name=`+name+`]`, text)
	}
	p.run(chromedp.Click(`input[name=before][value=none]`), chromedp.Click(`input[name=after][value="7"]`))
	n.presses(`main details button[type=submit]`, true)
	require.Contains(t, p.text(".receipt"), "Lab computer with grade 2 glossy: no mark after up to 3 minutes of its light.")
	p.visit(s.Daemon.URL() + "/rooms/north/board")
	require.Contains(t, value[string](p, `document.querySelector(".menu .screen-state").textContent`), "no mark after up to 3 minutes")
	requireRed(t, p.shoot("board-screen-tested", false), "the board of a tested screen")
	p.blameless()
}
