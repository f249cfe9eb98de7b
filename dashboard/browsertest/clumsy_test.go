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

	"wetside/chem/ledger"
	"wetside/daemon/config"
	"wetside/daemon/northtest"
	"wetside/dashboard/viewtest"
	"wetside/rules"
	"wetside/sensors/quantity/phrase"
)

// drill is the form of a practised alarm.
const drill = `form:has([name=drill])`

// fill types into the form of a practised alarm; what is set last is kept by the page alone.
func (p *tab) fill(what, who string) {
	p.t.Helper()
	value[bool](p, `(() => { const f = document.querySelector("`+drill+`"); f.closest("details").open = true;
		f.drill.value = `+quoted(what)+`; f.found.value = "all left"; f.who.value = `+quoted(who)+`; return true })()`)
}

func (p *tab) send() {
	p.t.Helper()
	value[bool](p, `(document.querySelector("`+drill+` button[type=submit]").click(), true)`)
}

func (p *tab) typed(field string) string {
	p.t.Helper()
	return value[string](p, `document.querySelector("`+drill+` [name=`+field+`]").value`)
}

const (
	receipt = `document.querySelector(".receipt") !== null`
	wrong   = `document.getElementById("problem") !== null`
)

// Two tabs on one form, a phone that sleeps with it half typed, a program that was started
// again meanwhile, a browser whose clock is days off, emoji and 10 kB in the name: nothing
// is entered twice, and nothing typed is lost.
func TestAFormOutlivesWhatHappensToIt(t *testing.T) {
	s := newSite(t)
	s.FillTrays()
	s.Publish()
	s.Answer(func(_ context.Context, c rules.Command) (rules.Receipt, error) {
		return rules.Receipt{Number: 5, Sentence: phrase.Plain("Recorded for " + c.Person + ".")}, nil
	})
	first, second := open(t, browser(t), s.host(), screens()[1]), open(t, browser(t), s.host(), screens()[0])
	for _, p := range []*tab{first, second} {
		p.visit(s.server.URL + "/rooms/north/alarms")
	}

	first.fill("fan off", "Ida")
	first.send()
	first.eventually(receipt, 5*time.Second)
	second.fill("belt off", strings.Repeat("x", 10_000))
	second.send()
	second.eventually(wrong, 5*time.Second)
	require.Contains(t, second.text("#problem"), "10000 characters are too many")
	require.Equal(t, "belt off", second.typed("drill"))
	require.Len(t, second.typed("who"), 10_000, "nothing typed is thrown away")
	require.LessOrEqual(t, value[float64](second, `document.documentElement.scrollWidth`), 1920.0)

	value[bool](second, `(Date.now = () => 0, true)`) // 1970
	second.fill("fan off again", "Zoë 🙂👩‍🔬 "+"李")
	call(second, page.SetWebLifecycleState, page.SetWebLifecycleStateParams{State: page.SetWebLifecycleStateStateFrozen})
	s.restart()
	call(second, page.SetWebLifecycleState, page.SetWebLifecycleStateParams{State: page.SetWebLifecycleStateStateActive})
	require.Equal(t, "fan off again", second.typed("drill"), "it slept with the form half typed")
	second.send()
	second.eventually(receipt, 5*time.Second)
	require.Contains(t, second.text(".receipt"), "Recorded for Zoë 🙂👩‍🔬 李.")
	commands := s.Commands()
	require.Len(t, commands, 2)
	require.Equal(t, rules.RecordDrill{What: "fan off again", Found: "all left"}, commands[1].Act)

	value[bool](second, `(setTimeout(() => history.back(), 50), true)`)
	second.eventually(`!(`+receipt+`)`, 5*time.Second)
	second.run(chromedp.Reload())
	require.Len(t, s.Commands(), 2, "going back and loading again enters nothing")
	first.blameless()
	second.blameless()
}

// back holds what somebody does who presses back after sending a form, and then sends again
// what stands there: from which page, how it is filled, and which button sends it.
type back struct{ page, fill, send string }

func forms() map[string]back {
	return map[string]back{
		"a duty":      {"/duties", `f.evidence.value = "ran, clear"; f.who.value = "Ida"`, `section:first-of-type form`},
		"a backup":    {"/keeper", `f.who.value = "Ida"`, `main form`},
		"a complaint": {"/rooms/north/air", `f.complaint.value = "smells"; f.who.value = "Ida"`, `form:has([name=complaint])`},
		"the clock": {"/rooms/north/probes", `f.seen.value = "20:41"; f.against.value = "phone"; f.who.value = "Ida"`,
			`form:has([name=against])`},
		"a bottle": {"/shelf/enter/bottle-found", `f.container.value = "odd jug"; f.volume_ml.value = "0,7 L"; f.capacity_ml.value = "1 ` +
			`L"; f.where.value = "under the sink"; f.who.value = "Zoë 🙂"`, `main form`},
	}
}

// goBack presses back until the page is left; a browser that is busy drops a press.
func (p *tab) goBack() {
	p.t.Helper()
	here := value[string](p, `location.href`)
	left := `location.href !== ` + quoted(here) + ` && document.readyState === "complete"`
	for range 4 {
		value[bool](p, `(setTimeout(() => history.back(), 50), true)`)
		for end := time.Now().Add(3 * time.Second); time.Now().Before(end); time.Sleep(30 * time.Millisecond) {
			if p.holds(left) {
				return
			}
		}
	}
	require.Fail(p.t, "the page is never left: "+here)
}

// Sending, going back and sending again enters nothing twice, whether the browser kept the
// page or asked for it again; pressing twice does not either.
func TestGoingBackAndSendingAgainEntersNothingTwice(t *testing.T) {
	s := northtest.Start(t, func(c *config.Config) { c.Backup = config.Backup{Folder: t.TempDir(), Every: 24 * time.Hour, Keep: 9} })
	entered := func() int {
		return len(s.Kept("duty done", "backup made", "complaint", "clock confirmed", "bottle found"))
	}
	for name, form := range forms() {
		for _, scr := range benches() {
			p := open(t, browser(t), s.Host(), scr)
			p.expect("422")
			p.visit(s.Daemon.URL() + form.page)
			before := entered()
			value[bool](p, `(() => { const f = document.querySelector(`+quoted(form.send)+`); `+form.fill+`; f.who.value = "x".repeat(10000);
				f.querySelector("button[type=submit]").click(); return true })()`)
			p.eventually(`document.querySelector(".problem")?.innerText.includes("10000 characters are too many")`, 5*time.Second)
			require.Equal(t, before, entered(), "%s, by a name of 10 kB", name)
			require.InDelta(t, 10_000, value[float64](p, `document.querySelector(`+quoted(form.send)+`).who.value.length`), 0,
				"%s: nothing typed is thrown away", name)
			requireFits(p)
			p.visit(s.Daemon.URL() + form.page)
			value[bool](p, `(() => { const f = document.querySelector(`+quoted(form.send)+`);
				f.closest("details")?.setAttribute("open", ""); `+form.fill+`;
				const b = f.querySelector("button[type=submit]"); b.click(); const again = setTimeout(() => b.click(), 30);
		addEventListener("pagehide", () => clearTimeout(again)); return true })()`) // a page that is kept would press later
			p.eventually(receipt+` && document.readyState === "complete"`, 5*time.Second)
			require.Equal(t, before+1, entered(), "%s, pressed twice", name)
			p.goBack()
			require.False(t, value[bool](p, receipt), "%s: the page before", name)
			value[bool](p, `(document.querySelector(`+quoted(form.send)+`).querySelector("button[type=submit]").click(), true)`)
			p.eventually(`(`+receipt+`) || (`+wrong+`) || document.querySelector(".problem") !== null`, 5*time.Second)
			require.Equal(t, before+1, entered(), "%s, sent again after going back", name)
			p.blameless()
			if name == "a bottle" {
				b := s.Daemon.Shelf().Book()
				last := b.Records[len(b.Records)-1]
				found, ok := last.Act.(ledger.BottleFound)
				require.True(t, ok)
				require.InDelta(t, 700, float64(found.Volume), 1e-9, "a comma is a decimal sign")
				require.Equal(t, "Zoë 🙂", last.By)
				break // there is one bottle of that name
			}
		}
	}
}

// At 200 % a screen of 1366 has 683 pixels of the page's own measure, and a reader must
// not have to move it sideways (WCAG 2.2, 1.4.4 and 1.4.10); the tab key goes through a
// page in its order, and what has the focus is seen (2.4.3, 2.4.7); who asks for less
// motion gets none (2.3.3).
func TestPagesBearZoomAKeyboardAndLessMotion(t *testing.T) {
	t.Parallel()
	s := newShelfSite(t, evening()...)
	s.keepShowing()
	p := open(t, browser(t), s.host(), screen{"zoomed", 683, 384, false})
	for _, path := range []string{"/rooms/north/tonight", "/rooms/north/baths", "/rooms/north/air", "/rooms/north/history", "/shelf",
		"/mix", "/rooms/north/set-up", "/rooms/north/board", "/rooms/north/timer",
		"/weeks", "/keeper", "/first-run", "/duties", "/report", "/labels", "/screen", "/rooms/north/probes", "/weeks?look=red",
		"/keeper?look=red", "/first-run?look=red"} {
		p.bearsZoomAndKeys(s.server.URL + path)
	}
	p.blameless()
}

func TestThePageOfSigningInBearsZoomAndAKeyboard(t *testing.T) {
	t.Parallel()
	s := newGuardedSite(t)
	p := open(t, browser(t), s.host(), screen{"zoomed", 683, 384, false})
	p.expect("401")
	for _, path := range []string{"/sign-in", "/sign-in?look=day", "/join"} {
		p.bearsZoomAndKeys(s.server.URL + path)
	}
	p.visit(s.server.URL + "/sign-in?look=day&next=/people")
	p.tabTo("#name")
	p.run(chromedp.KeyEvent("Kim"))
	p.tabTo("#password")
	p.run(chromedp.KeyEvent(viewtest.Password), chromedp.KeyEvent("\r"))
	p.eventually(`document.querySelector("h1")?.innerText === "People"`, 5*time.Second)
	p.bearsZoomAndKeys(s.server.URL + "/people")
	p.blameless()
}

// stops is through how many places of a page the tab key is pressed.
const stops = 12

// outOfOrder names what has the focus where it stands before what had it. From the last place
// of a page the keys begin anew at its first.
const outOfOrder = `(() => { const now = document.activeElement, before = window.stoodAt; window.stoodAt = now;
	const places = [...document.querySelectorAll("a[href], button, input, select, textarea, summary, [tabindex='0']")]
		.filter(e => !e.disabled && e.checkVisibility() && (e.type !== "radio" || e.checked));
	const anew = before === places.at(-1) && now === places[0];
	return before?.isConnected && before !== now && now !== document.body && !anew &&
		!(before.compareDocumentPosition(now) & Node.DOCUMENT_POSITION_FOLLOWING) ? now.outerHTML.slice(0, 200) : "" })()`

// unseen names what has the focus without being seen to have it: without an outline, or beside the page.
const unseen = `(() => { const e = document.activeElement, r = e.getBoundingClientRect();
	return e !== document.body && (getComputedStyle(e).outlineStyle === "none" ||
		r.width === 0 || r.right < 0 || r.left > innerWidth) ? e.outerHTML.slice(0, 200) : "" })()`

// displaced names what the style puts elsewhere in the content than the page has it, so that eye and key would part.
const displaced = `[...document.querySelectorAll("#content *")].filter(e => getComputedStyle(e).order !== "0").map(e => ` +
	`e.outerHTML.slice(0, 120)).join(" ")`

// bearsZoomAndKeys requires of a page what a person needs who enlarges it or has no pointer.
func (p *tab) bearsZoomAndKeys(address string) {
	t := p.t
	t.Helper()
	p.lessMotion()
	p.visit(address)
	require.LessOrEqual(t, value[float64](p, `document.documentElement.scrollWidth`), float64(p.screen.width), address)
	require.Zero(t, value[float64](p, `document.querySelectorAll("[tabindex]:not([tabindex='0']):not([tabindex='-1'])").length`),
		"%s: the order of the page is the order of the keys", address)
	require.Empty(t, value[string](p, displaced), address)
	for range stops {
		p.run(chromedp.KeyEvent("\t"))
		require.Empty(t, value[string](p, unseen), "%s: the focus is seen", address)
		require.Empty(t, value[string](p, outOfOrder), "%s: the focus goes on", address)
	}
	require.Empty(t, value[string](p, `document.getAnimations().map(a => a.animationName || "").filter(n => `+
		`!n.startsWith("expire")).join(" ")`), "%s moves", address)
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
