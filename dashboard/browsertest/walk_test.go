//go:build browser

package browsertest_test

import (
	"context"
	"encoding/json"
	"image"
	"net/url"
	"os"
	"strings"
	"testing"
	"time"

	"github.com/chromedp/chromedp"
	"github.com/chromedp/chromedp/kb"
	"github.com/stretchr/testify/require"

	"wetside/dashboard/viewtest"
	"wetside/rules"
	"wetside/sensors/quantity/phrase"
)

// tabTo presses the tab key until an element has the focus.
func (p *tab) tabTo(selector string) {
	p.t.Helper()
	for range 60 {
		p.run(chromedp.KeyEvent(kb.Tab))
		if value[bool](p, `document.activeElement.matches(`+quoted(selector)+`)`) {
			return
		}
	}
	require.Fail(p.t, "the tab key never comes to "+selector)
}

func quoted(s string) string {
	out, _ := json.Marshal(s) // a string can always be written
	return string(out)
}

func TestAFormIsFilledByKeyboardAlone(t *testing.T) {
	b := browser(t)
	for _, scr := range screens() {
		for _, look := range []string{"day", "red"} {
			s := newSite(t)
			s.Begin()
			s.keepShowing()
			s.Answer(func(_ context.Context, c rules.Command) (rules.Receipt, error) {
				return rules.Receipt{Number: 44, Sentence: phrase.Plain(c.Person + " practised the alarm, record 44.")}, nil
			})
			p := open(t, b, s.host(), scr)
			p.visit(s.server.URL + "/rooms/north/alarms?look=" + look)
			pictures := p.fillByKeyboard(look)
			require.Len(t, s.Commands(), 1)
			for _, picture := range pictures {
				if look == "red" {
					requireRed(t, picture, "a form in use")
				}
			}
			p.blameless()
		}
	}
}

// fillByKeyboard fills the stop bath's tray, forgets the name first, and goes back
// at last; it gives a picture of each step.
func (p *tab) fillByKeyboard(look string) (pictures []image.Image) {
	t := p.t
	t.Helper()
	keep := func(step string) { pictures = append(pictures, p.shoot(step+"-"+look, true)) }
	p.tabTo(`section[aria-labelledby="drills"] summary`)
	p.run(chromedp.KeyEvent(kb.Enter))
	require.True(t, value[bool](p, `document.querySelector('section[aria-labelledby="drills"] details').open`))
	for _, field := range [][2]string{{"drill", "fan off"}, {"found", "all left"}} {
		p.tabTo(`[name="` + field[0] + `"]`)
		p.run(chromedp.KeyEvent(field[1]))
	}
	keep("form-typed")
	p.run(chromedp.KeyEvent(kb.Enter))
	p.eventually(`document.getElementById("problem") !== null`, 5*time.Second)
	require.Contains(t, p.text("#problem"), "Please fill in: Your name")
	require.Equal(t, "all left", value[string](p, `document.querySelector('[name="found"]').value`), "what was typed is still there")
	keep("form-problem")
	p.tabTo(`section[aria-labelledby="drills"] input[name="who"]`)
	p.run(chromedp.KeyEvent("Ida"), chromedp.KeyEvent(kb.Enter))
	p.eventually(`document.querySelector(".receipt") !== null`, 5*time.Second)
	require.Contains(t, p.text(".receipt"), "Ida practised the alarm, record 44.")
	keep("form-receipt")
	value[bool](p, `(setTimeout(() => history.back(), 50), true)`)
	p.eventually(`document.querySelector(".receipt") === null && document.querySelector("h1") !== null`, 5*time.Second)
	require.Contains(t, p.text("h1"), "Alarms")
	keep("form-back")
	return pictures
}

// At a plain address of the local network a browser sends no Sec-Fetch-Site, so
// a form's origin is all that tells ours from another site's.
func TestAFormIsTakenAtAPlainAddressOfTheNetwork(t *testing.T) {
	s := newSite(t)
	s.Publish()
	_, port, _ := strings.Cut(s.host(), ":")
	host := "darkroom.test:" + port
	b := browser(t, chromedp.Flag("host-resolver-rules", "MAP darkroom.test 127.0.0.1"))
	p := open(t, b, host, screens()[1])
	p.visit((&url.URL{Scheme: "http", Host: host, Path: "/rooms/north/alarms"}).String())
	value[bool](p, `(() => { const f = document.querySelector("form:has([name=drill])"); f.drill.value = "fan off"; f.found.value = "all `+
		`left"; f.who.value = "Ida"; f.querySelector("button").click(); return true })()`)
	p.eventually(`document.querySelector(".receipt") !== null`, 5*time.Second)
	require.Len(t, s.Commands(), 1)
	p.blameless()
}

func TestAButtonPressedTwiceActsOnce(t *testing.T) {
	s := newSite(t)
	s.Publish()
	s.Answer(func(context.Context, rules.Command) (rules.Receipt, error) {
		time.Sleep(300 * time.Millisecond)
		return rules.Receipt{Number: 5, Sentence: phrase.Plain("Recorded as number 5.")}, nil
	})
	p := open(t, browser(t), s.host(), screens()[1])
	p.visit(s.server.URL + "/rooms/north/alarms")
	value[bool](p, `(() => { const f = document.querySelector("form:has([name=drill])"); f.drill.value = "fan off"; f.found.value = "all `+
		`left"; f.who.value = "Ida"; const b = f.querySelector("button"); b.click(); setTimeout(() => b.click(), 80); return true })()`)
	p.eventually(`document.querySelector(".receipt") !== null`, 5*time.Second)
	require.Contains(t, p.text(".receipt"), "Recorded as number 5.")
	time.Sleep(400 * time.Millisecond)
	require.Len(t, s.Commands(), 1)
}

// finding is one rule of accessibility that a page breaks.
type finding struct {
	ID    string   `json:"id"`
	Help  string   `json:"help"`
	Nodes []string `json:"nodes"`
}

// checked is what the check of a page found.
type checked struct {
	Passed int       `json:"passed"`
	Broken []finding `json:"broken"`
}

func TestPagesKeepToWCAGInTrouble(t *testing.T) {
	t.Parallel()
	b := browser(t)
	for _, scr := range screens() {
		s := newSite(t)
		s.Commission()
		s.Breathe()
		s.Begin()
		s.Minutes(2, viewtest.Values{Developer: 17.2, Stop: 19.1, Fixer: 18.8, Duct: 0.02}, viewtest.Values{})
		s.Remember(history)
		s.keepShowing()
		p := open(t, b, s.host(), scr)
		p.expect("404") // of the page that is none
		for _, path := range []string{"/", "/nowhere", "/rooms/north/probes", "/rooms/north/probes?look=red", "/rooms/north/air",
			"/rooms/north/air?look=red",
			"/rooms/north/alarms", "/rooms/north/alarms?look=red", "/rooms/north/tonight", "/rooms/north/tonight?look=red"} {
			p.visit(s.server.URL + path)
			p.keepsToWCAG(path)
		}
	}
}

// keepsToWCAG unfolds the page and requires that it breaks no rule of accessibility.
func (p *tab) keepsToWCAG(what string) {
	p.t.Helper()
	file := os.Getenv("WETSIDE_AXE")
	require.NotEmpty(p.t, file, "set WETSIDE_AXE to axe.min.js of the npm package axe-core")
	axe, err := os.ReadFile(file)
	require.NoError(p.t, err)
	value[float64](p, unfold)
	value[bool](p, string(axe)+";true")
	result := ask(p, chromedp.Evaluate[checked](`axe.run({runOnly: ["wcag2a", "wcag2aa", "wcag21a", "wcag21aa",
		"wcag22aa", "best-practice"]}).then(r =>
		({passed: r.passes.length, broken:
			r.violations.map(v => ({id: v.id, help: v.help, nodes: v.nodes.map(n => n.html)}))}))`, chromedp.EvalAwaitPromise))
	require.Empty(p.t, result.Broken, "%s on %s", what, p.screen.name)
	require.Greater(p.t, result.Passed, 15, "%s on %s: rules that found something to check", what, p.screen.name)
}
