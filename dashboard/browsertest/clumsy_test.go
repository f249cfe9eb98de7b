//go:build browser

package browsertest_test

import (
	"context"
	"strings"
	"testing"
	"time"

	"github.com/chromedp/cdproto/page"
	"github.com/chromedp/chromedp"
	"github.com/stretchr/testify/require"

	"wetside/dashboard/viewtest"
	"wetside/rules"
)

// fill types into the form of the stop bath; what is set last is kept by the page alone.
func (p *tab) fill(batch, who string) {
	p.t.Helper()
	value[bool](p, `(() => { const f = document.querySelector("#bath-stop form:has([name=batch])"); f.closest("details").open = true;
		f.batch.value = `+quoted(batch)+`; f.what.value = "Stop bath"; f.volume.value = "1,5 L"; f.who.value = `+quoted(who)+`; return true })()`)
}

func (p *tab) send() {
	p.t.Helper()
	value[bool](p, `(document.querySelector("#bath-stop form:has([name=batch]) button[type=submit]").click(), true)`)
}

func (p *tab) typed(field string) string {
	p.t.Helper()
	return value[string](p, `document.querySelector("#bath-stop form:has([name=batch]) [name=`+field+`]").value`)
}

const (
	receipt = `document.querySelector(".receipt") !== null`
	wrong   = `document.getElementById("problem") !== null`
)

// Two tabs on one form, a phone that sleeps with it half typed, a program that was started
// again meanwhile, a browser whose clock is days off, emoji and 10 kB in the name: nothing
// is entered twice or for another tray than was seen, and nothing typed is lost.
func TestAFormOutlivesWhatHappensToIt(t *testing.T) {
	s := newSite(t)
	s.FillTrays()
	s.Publish()
	s.Answer(func(_ context.Context, c rules.Command) (rules.Receipt, error) {
		return rules.Receipt{Number: 5, Sentence: "Recorded for " + c.Person + "."}, nil
	})
	first, second := open(t, browser(t), s.host(), screens()[1]), open(t, browser(t), s.host(), screens()[0])
	for _, p := range []*tab{first, second} {
		p.visit(s.server.URL + "/rooms/north/baths")
	}

	first.fill("SB-1", "Ida")
	first.send()
	first.eventually(receipt, 5*time.Second)
	s.Pour("stop", rules.Portion{Record: 77, Batch: "SB-1", What: "Stop bath", By: "Ida", Filled: viewtest.Evening()})
	s.Publish()
	second.fill("SB-2", "Bo")
	second.send()
	second.eventually(wrong, 5*time.Second)
	require.Equal(t, "SB-2", second.typed("batch"), "the other tab keeps what was typed")
	require.Equal(t, "1,5 L", second.typed("volume"))
	require.Len(t, s.Commands(), 1, "the tray is not filled over what the other tab had seen")

	second.visit(s.server.URL + "/rooms/north/baths")
	second.fill("SB-3", strings.Repeat("x", 10_000))
	second.send()
	second.eventually(wrong, 5*time.Second)
	require.Contains(t, second.text("#problem"), "10000 characters long")
	require.Equal(t, "SB-3", second.typed("batch"))
	require.Len(t, second.typed("who"), 10_000, "nothing typed is thrown away")
	require.LessOrEqual(t, value[float64](second, `document.documentElement.scrollWidth`), 1920.0)

	value[bool](second, `(Date.now = () => 0, true)`) // 1970
	second.fill("SB-4", "Zoë 🙂👩‍🔬 "+"李")
	call(second, page.SetWebLifecycleState, page.SetWebLifecycleStateParams{State: page.SetWebLifecycleStateStateFrozen})
	s.restart()
	call(second, page.SetWebLifecycleState, page.SetWebLifecycleStateParams{State: page.SetWebLifecycleStateStateActive})
	require.Equal(t, "SB-4", second.typed("batch"), "it slept with the form half typed")
	second.send()
	second.eventually(receipt, 5*time.Second)
	require.Contains(t, second.text(".receipt"), "Recorded for Zoë 🙂👩‍🔬 李.")
	commands := s.Commands()
	require.Len(t, commands, 2)
	filled, ok := commands[1].Act.(rules.FillTray)
	require.True(t, ok)
	require.InDelta(t, 1500, float64(filled.Volume), 1e-9, "a comma is a decimal sign")

	value[bool](second, `(history.back(), true)`)
	second.eventually(`!(`+receipt+`)`, 5*time.Second)
	second.run(chromedp.Reload())
	require.Len(t, s.Commands(), 2, "going back and loading again enters nothing")
	first.blameless()
	second.blameless()
}

// At 200 % a screen of 1366 has 683 pixels of the page's own measure, and a reader must
// not have to move it sideways (WCAG 2.2, 1.4.4 and 1.4.10); the tab key goes through a
// page in its order, and what has the focus is seen (2.4.3, 2.4.7); who asks for less
// motion gets none (2.3.3).
func TestPagesBearZoomAKeyboardAndLessMotion(t *testing.T) {
	s := newShelfSite(t, evening()...)
	s.keepShowing()
	p := open(t, browser(t), s.host(), screen{"zoomed", 683, 384, false})
	p.lessMotion()
	for _, path := range []string{"/rooms/north/tonight", "/rooms/north/baths", "/rooms/north/air", "/rooms/north/history", "/shelf", "/mix", "/rooms/north/set-up", "/rooms/north/board", "/rooms/north/clock"} {
		p.visit(s.server.URL + path)
		require.LessOrEqual(t, value[float64](p, `document.documentElement.scrollWidth`), 683.0, path)
		require.Zero(t, value[float64](p, `document.querySelectorAll("[tabindex]:not([tabindex='0']):not([tabindex='-1'])").length`), "%s: the order of the page is the order of the keys", path)
		for range 4 {
			p.run(chromedp.KeyEvent("\t"))
			require.Empty(t, value[string](p, `getComputedStyle(document.activeElement).outlineStyle === "none" ? document.activeElement.outerHTML.slice(0, 200) : ""`), "%s: the focus is seen", path)
		}
		require.Empty(t, value[string](p, `document.getAnimations().map(a => a.animationName || "").filter(n => !n.startsWith("expire")).join(" ")`), "%s moves", path)
	}
	p.blameless()
}

// A screen reader is told what changed, and nothing while nothing does.
func TestLiveRegionsAreQuietWhileNothingChanges(t *testing.T) {
	s := newSite(t)
	s.Begin()
	s.keepShowing()
	p := open(t, browser(t), s.host(), screens()[0])
	p.visit(s.server.URL + "/")
	p.eventually(`document.documentElement.dataset.beat !== undefined`, 3*time.Second)
	value[bool](p, `(() => { window.told = 0; for (const live of document.querySelectorAll("[aria-live],[role=status],[role=alert]"))
		new MutationObserver(() => { window.told++ }).observe(live, {childList: true, characterData: true, subtree: true}); return true })()`)
	p.eventually(`(window.beats ??= new Set()).add(document.documentElement.dataset.beat).size === 2`, 4*time.Second)
	require.Zero(t, value[float64](p, `window.told`), "two beats without a change")
	s.Minutes(2, viewtest.Values{Developer: 19.4, Stop: 19.1, Fixer: 18.8, Duct: 0.02}, viewtest.Values{})
	s.Publish()
	p.eventually(`document.getElementById("say").innerText.includes("HALT")`, 4*time.Second)
	p.blameless()
}
