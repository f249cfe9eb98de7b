//go:build browser

package browsertest_test

import (
	"strings"
	"testing"

	"github.com/chromedp/cdproto/input"
	"github.com/stretchr/testify/require"
)

func TestTheWeeksStandInBothLooks(t *testing.T) {
	b := browser(t)
	for _, look := range []string{"day", "red"} {
		for _, scr := range benches() {
			t.Run(look+" "+scr.name, func(t *testing.T) {
				s := newSite(t)
				s.Begin()
				s.keepShowing()
				p := open(t, b, s.host(), scr)
				p.visit(s.server.URL + "/weeks?look=" + look)
				picture := p.shoot("weeks-"+look, true)
				if look == "red" {
					requireRed(t, picture, "weeks")
				}
				requireFits(p)
				p.blameless()
			})
		}
	}
}

// middle is the place of the drawing on the screen, and how wide it is.
const middle = `(() => { const b = document.querySelector(".wide svg.chart").getBoundingClientRect(); return [b.left + b.width / 2, b.top + b.height / 2, b.width] })()`

func TestValuesAreReadOffAndTimesAreChosenOnTheDrawing(t *testing.T) {
	s := newSite(t)
	s.Begin()
	s.Remember(history)
	s.keepShowing()
	p := open(t, browser(t), s.host(), screens()[0])
	p.visit(s.server.URL + "/rooms/north/history?channel=north-developer&channel=air:flow")
	p.eventually(`!document.querySelector(".how").hidden`, patience)
	at := value[[]float64](p, middle)
	mouse := func(kind input.DispatchMouseEventType, x float64, buttons int64) {
		call(p, input.DispatchMouseEvent, input.DispatchMouseEventParams{Type: kind, X: x, Y: at[1], Button: "left", Buttons: buttons, ClickCount: 1})
	}
	mouse(input.DispatchMouseEventTypeMouseMoved, at[0]-at[2]/4, 0)
	p.eventually(`/m³.h, mean of 36 good readings from .* to /.test(document.querySelector(".readout").innerText)`, patience)
	require.Contains(t, p.text(".readout"), "15 Jan 2026")

	value[bool](p, `document.querySelectorAll(".wide svg.chart")[1].focus(), true`)
	call(p, input.DispatchKeyEvent, input.DispatchKeyEventParams{Type: "keyDown", Key: "ArrowRight", Code: "ArrowRight"})
	p.eventually(`document.querySelectorAll(".readout")[1].innerText.includes("no value: port lost") || document.querySelectorAll(".readout")[1].innerText.includes("°C")`, patience)

	before := value[string](p, `location.search`)
	mouse(input.DispatchMouseEventTypeMousePressed, at[0]-at[2]/4, 1)
	mouse(input.DispatchMouseEventTypeMouseMoved, at[0], 1)
	mouse(input.DispatchMouseEventTypeMouseReleased, at[0], 0)
	p.eventually(`location.search.includes("from=")`, patience)
	after := value[string](p, `location.search`)
	require.NotEqual(t, before, after)
	require.Contains(t, after, "channel=north-developer&channel=air%3Aflow", "the address carries the view")
	p.eventually(`document.readyState === "complete" && !document.querySelector(".how").hidden`, patience)
	p.shoot("history-closer", true)
	require.True(t, strings.Contains(p.text(".shown"), "Thu 15 Jan 2026"))
	p.blameless()
}
