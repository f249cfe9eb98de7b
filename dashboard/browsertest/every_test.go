//go:build browser

package browsertest_test

import (
	"errors"
	"io"
	"math"
	"net/http"
	"regexp"
	"strings"
	"testing"
	"time"

	"github.com/chromedp/cdproto/emulation"
	"github.com/stretchr/testify/require"
)

// everyPage is each page that a person comes to, by the name of its picture.
func everyPage() map[string]string {
	return map[string]string{
		"board": "/rooms/north/board", "timer": "/rooms/north/timer",
		"tonight": "/rooms/north/tonight?students=8&each=6&size=8x10in&material=resin-coated+paper",
		"then":    "/rooms/north/then?at=20:40", "set-up": "/rooms/north/set-up", "take-down": "/rooms/north/take-down?who=Ada",
		"baths": "/rooms/north/baths",
		"shelf": "/shelf", "passport": "/shelf/FI%202026-01-15%20a", "label": "/shelf/label/FI%202026-01-15%20a", "labels": "/labels",
		"tests":     "/shelf/tests",
		"enter-mix": "/shelf/enter/batch-mixed?from=FX+bottle", "mix": "/mix?do=plan&parts=1%2B9&make=64floz",
		"mix-time": "/mix?do=time&points=20C%3D9.30&bath=20",
		"air":      "/rooms/north/air", "limits": "/rooms/north/air/limits", "traverse": "/rooms/north/air/traverse",
		"air-test": "/rooms/north/air/test",
		"alarms":   "/rooms/north/alarms", "figures": "/rooms/north/alarms/figures",
		"history": "/rooms/north/history", "weeks": "/weeks", "duties": "/duties", "report": "/report?from=2026-01-01&to=2026-01-31",
		"probes": "/rooms/north/probes", "probe": "/rooms/north/probe/north-developer",
		"probe-check": "/rooms/north/probe/north-developer/check?method=ice&step=1",
		"keeper":      "/keeper", "screen": "/screen", "first-run": "/first-run",
	}
}

func TestEveryPageOfTheMenuIsAmongEveryPage(t *testing.T) {
	answer, err := http.Get(newShelfSite(t).server.URL + "/shelf")
	require.NoError(t, err)
	page, err := io.ReadAll(answer.Body)
	require.NoError(t, errors.Join(err, answer.Body.Close()))
	paths := map[string]bool{}
	for _, path := range everyPage() {
		path, _, _ = strings.Cut(path, "?")
		paths[path] = true
	}
	links := regexp.MustCompile(`href="(/[^"]*)"`).FindAllStringSubmatch(regexp.MustCompile(`(?s)<nav.*?</nav>`).FindString(string(page)), -1)
	require.Greater(t, len(links), 10)
	for _, link := range links {
		require.True(t, paths[link[1]], "add %s to everyPage, so that browsers test it too", link[1])
	}
}

// in gives the address of a page in a look.
func in(look, path string) string {
	if containsQuery(path) {
		return path + "&look=" + look
	}
	return path + "?look=" + look
}

// Nobody waits for a page: at rest the lab computer paints it within 100 ms of asking for
// it. A machine that is loaded takes longer; how long is told, and by the best of three it
// must be there before somebody looks away.
const (
	atRest     = 100.0  // ms
	beforeLong = 1500.0 // ms
)

// painted visits a page until it is painted before long, at most three times, and gives the ms.
func (p *tab) painted(address string) float64 {
	p.t.Helper()
	best := math.Inf(1)
	for i := range 3 {
		if i > 0 {
			time.Sleep(300 * time.Millisecond) // the browser rests from whatever held it up
		}
		p.visit(address)
		p.eventually(`performance.getEntriesByType("paint").length > 0`, patience)
		if best = min(best, value[float64](p, `performance.getEntriesByType("paint")[0].startTime`)); best < beforeLong {
			break
		}
	}
	return best
}

// zoomed is a desk's window of 1280 pixels at four times its size, in which nobody need scroll sideways to
// read: WCAG 2.2, 1.4.10.
var zoomed = screen{"400 %", 320, 256, false}

// Every page in both looks, on a phone and on the lab computer: it is painted at once, fits,
// breaks no rule of accessibility, does nothing wrong, and leaves its picture.
func TestEveryPageIsPaintedAtOnceFitsAndKeepsToWCAG(t *testing.T) {
	t.Parallel()
	s := newShelfSite(t, evening()...)
	s.Remember(history)
	s.keepShowing()
	soon, pages := 0, 0
	for _, scr := range benches() {
		p := open(t, browser(t), s.host(), scr)
		look := map[bool]string{true: "red", false: "day"}[scr.touch]
		for name, path := range everyPage() {
			t.Run(name+" "+look, func(t *testing.T) {
				p.t = t
				ms := p.painted(s.server.URL + in(look, path))
				t.Logf("painted after %.0f ms", ms)
				require.Less(t, ms, beforeLong)
				if pages++; ms < atRest {
					soon++
				}
				p.keepsToWCAG(name)
				require.Empty(t, value[[]string](p, offScale))
				picture := p.shoot("page-"+name+"-"+look, true)
				if look == "red" {
					requireRed(t, picture, name)
				}
				requireFits(p)
				p.resize(zoomed)
				requireFits(p)
				p.resize(scr)
				p.blameless()
			})
		}
	}
	t.Logf("%d of %d pages were painted within %.0f ms", soon, pages, atRest)
}

// What is printed is black on white, without menus and buttons, and not wider than the sheet.
func TestWhatIsPrintedIsPlain(t *testing.T) {
	t.Parallel()
	s := newShelfSite(t, evening()...)
	s.Remember(history)
	s.keepShowing()
	p := open(t, browser(t), s.host(), screen{"print", 680, 1009, false}) // A4 within its margins, at 96 to the inch
	seen := map[string]string{"weeks": ".week-day .evening", "shelf": ".vessels tr", "report": ".report-grid tr", "history": ".wide svg",
		"take-down": ".bath-main li", "tests": ".guide li", "then": "h2"}
	for _, name := range []string{"label", "report", "weeks", "history", "passport", "set-up", "take-down", "tests", "then", "tonight",
		"shelf", "weeks?look=red"} {
		name, look, _ := strings.Cut(name, "?")
		p.visit(s.server.URL + everyPage()[name] + map[bool]string{true: "?" + look}[look != ""])
		call(p, emulation.SetEmulatedMedia, emulation.SetEmulatedMediaParams{Media: "print"})
		require.Equal(t, "rgb(255, 255, 255)", value[string](p, `getComputedStyle(document.documentElement).backgroundColor`), name)
		require.Empty(t, value[string](p,
			`[...document.querySelectorAll("nav a,nav summary,.switch,.skip,form:not(.listed,.as-last),.field,button")].filter(e => `+
				`e.getClientRects().length > 0).map(e => e.className).join(" ")`), "%s: what leads elsewhere is no use on paper", name)
		require.Empty(t, value[string](p, `[...document.querySelectorAll(".report-grid table")].filter(e => getComputedStyle(e).display !== `+
			`"table").map(e => e.innerText).join(" ")`), "%s: paper has room for columns", name)
		require.Equal(t, "rgb(0, 0, 0)", value[string](p, `getComputedStyle(document.querySelector("h1,.label")).color`), name)
		if what := seen[name]; what != "" {
			require.Positive(t, value[int](p, `[...document.querySelectorAll("`+what+`")].filter(e => e.getClientRects().length > 0).length`),
				"%s: what the page is for is on the paper", name)
		}
		require.Empty(t, value[string](p, `[...document.querySelectorAll("#content,.report,.report section")].filter(e => `+
			`getComputedStyle(e).display === "grid").map(e => e.className).join(" ")`), "%s: rows of a grid are not parted by sheets", name)
		p.shoot("page-"+name+look, true)
		requireFits(p)
		call(p, emulation.SetEmulatedMedia, emulation.SetEmulatedMediaParams{})
	}
	p.blameless()
}
