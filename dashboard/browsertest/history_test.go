//go:build browser

package browsertest_test

import (
	"strings"
	"testing"

	"github.com/chromedp/cdproto/input"
	"github.com/chromedp/chromedp"
	"github.com/chromedp/chromedp/kb"
	"github.com/stretchr/testify/require"

	"wetside/dashboard/web"
)

// middle is the place of the drawing on the screen, and how wide it is.
const middle = `(() => { const b = document.querySelector(".wide svg.chart").getBoundingClientRect(); return [b.left + b.width / 2, ` +
	`b.top + b.height / 2, b.width] })()`

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
		call(p, input.DispatchMouseEvent, input.DispatchMouseEventParams{Type: kind, X: x, Y: at[1], Button: "left", Buttons: buttons,
			ClickCount: 1})
	}
	mouse(input.DispatchMouseEventTypeMouseMoved, at[0]-at[2]/4, 0)
	p.eventually(`/m³.h, mean of 36 good readings from .* to /.test(document.querySelector(".readout").innerText)`, patience)
	require.Contains(t, p.text(".readout"), "15 Jan 2026")

	require.Equal(t, 2.0, value[float64](p, `[...document.querySelectorAll(".wide .chart-cursor")].length`), "one moment in both drawings")
	value[bool](p, `document.querySelectorAll(".wide svg.chart")[1].focus(), true`)
	call(p, input.DispatchKeyEvent, input.DispatchKeyEventParams{Type: "keyDown", Key: "ArrowRight", Code: "ArrowRight"})
	p.eventually(`/Airflow .*m³.h.*Developer tray (no reading: port lost|.*°C, mean of)/.test(
		document.querySelector(".readout").innerText)`, patience)

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

// partlyImported is an evening of which the first third came from a file.
func partlyImported(q web.SeriesQuery) (web.Series, error) {
	s, err := history(q)
	for i := range s.Points {
		s.Points[i].Imported = s.Points[i].At.Sub(q.From) < q.To.Sub(q.From)/3
	}
	return s, err
}

func TestPagesThatLookBackKeepToWCAGInBothLooks(t *testing.T) {
	t.Parallel()
	b := browser(t)
	for _, scr := range append(screens(), benches()[1]) {
		s := newSite(t)
		s.Begin()
		s.Remember(partlyImported)
		s.keepShowing()
		p := open(t, b, s.host(), scr)
		for name, path := range map[string]string{"weeks": "/weeks?", "history-imported": "/rooms/north/history?channel=north-developer",
			"history-several": "/rooms/north/history?channel=north-developer&channel=north-fixer&channel=air:flow"} {
			for _, look := range []string{"day", "red"} {
				p.visit(s.server.URL + path + "&look=" + look)
				picture := p.shoot(name+"-"+look, true)
				if look == "red" {
					requireRed(t, picture, name)
				}
				requireFits(p)
				p.keepsToWCAG(path + look)
			}
		}
		p.blameless()
	}
}

// shown is the span that the page's address carries, in minutes.
const shown = `(() => { const q = new URL(location.href).searchParams; return (new Date(q.get("to")) - new Date(q.get("from"))) / ` +
	`60000 })()`

func TestTimesAreChosenWithKeysAlone(t *testing.T) {
	s := newSite(t)
	s.Begin()
	s.Remember(partlyImported)
	s.keepShowing()
	p := open(t, browser(t), s.host(), screens()[0])
	p.visit(s.server.URL + "/rooms/north/history?channel=north-developer&from=2026-01-15T12:00:00Z&to=2026-01-15T18:00:00Z")
	ready := func(minutes string) {
		p.eventually(`document.readyState === "complete" && !document.querySelector(".how").hidden && `+shown+` === `+minutes, patience)
		p.tabTo("svg.chart")
	}
	ready("360")
	p.run(chromedp.KeyEvent(kb.Home))
	p.eventually(`document.querySelector(".readout").innerText.includes("imported from a file")`, patience)
	p.run(chromedp.KeyEvent("+"))
	ready("180")
	p.run(chromedp.KeyEvent("-"))
	ready("360")
	before := value[string](p, `new URL(location.href).searchParams.get("from")`)
	p.run(chromedp.KeyEvent(kb.PageUp))
	ready("360")
	require.Less(t, value[string](p, `new URL(location.href).searchParams.get("from")`), before)
	p.blameless()
}

func TestATapOnThePhoneReadsAValue(t *testing.T) {
	s := newSite(t)
	s.Begin()
	s.Remember(history)
	s.keepShowing()
	p := open(t, browser(t), s.host(), screens()[1])
	p.visit(s.server.URL + "/rooms/north/history?channel=north-developer")
	p.eventually(`!document.querySelector(".how").hidden`, patience)
	require.Less(t, value[float64](p, `document.querySelector(".narrow svg.chart").getBoundingClientRect().top`), 844.0,
		"the list of channels is folded: the drawing begins on the first screen")
	value[bool](p, `document.querySelector(".narrow svg.chart").scrollIntoView({block: "center"}), true`)
	tap := func(part float64) {
		at := value[[]float64](p, `(() => { const b = document.querySelector(".narrow svg.chart").getBoundingClientRect(); return [b.left, `+
			`b.top + b.height / 2, b.width] })()`)
		finger := []*input.TouchPoint{{X: at[0] + part*at[2], Y: at[1]}}
		call(p, input.DispatchTouchEvent, input.DispatchTouchEventParams{Type: input.DispatchTouchEventTypeTouchStart, TouchPoints: finger})
		call(p, input.DispatchTouchEvent, input.DispatchTouchEventParams{Type: input.DispatchTouchEventTypeTouchEnd,
			TouchPoints: []*input.TouchPoint{}})
	}
	tap(0.35)
	p.eventually(`document.querySelector(".readout").innerText.includes("°C, mean of")`, patience)
	address := value[string](p, `location.href`)
	tap(0.65)
	p.eventually(`document.querySelector(".readout").innerText.includes("no reading: port lost")`, patience)
	require.Equal(t, address, value[string](p, `location.href`), "a tap goes nowhere")
	p.shoot("history-tapped", true)
	p.blameless()
}
