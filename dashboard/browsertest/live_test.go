//go:build browser

package browsertest_test

import (
	"net/http"
	"strings"
	"testing"
	"time"

	"github.com/chromedp/cdproto/emulation"
	"github.com/chromedp/cdproto/input"
	"github.com/chromedp/chromedp"
	"github.com/stretchr/testify/require"
)

const (
	// numbersGone is true once no number of the room is on the board.
	numbersGone = `!/2:06|19\.4|18\.8|MOVING/.test(document.querySelector("main").innerText)`
	numbersBack = `/2:06/.test(document.querySelector("main").innerText)`
)

// running is a board of a room in which everything runs, seen in a browser.
func running(t *testing.T) (*site, *tab) {
	t.Helper()
	s := newSite(t)
	s.Begin()
	s.keepShowing()
	p := open(t, browser(t), s.host(), screens()[0])
	p.visit(s.server.URL + "/")
	p.eventually(numbersBack, 3*time.Second)
	p.eventually(`document.documentElement.dataset.beat !== undefined`, 3*time.Second)
	return s, p
}

func TestALostProgramTakesItsNumbersOffThePageAndComesBack(t *testing.T) {
	s, p := running(t)
	p.expect("ERR_", "Failed to load", "icon from the Manifest")
	s.interpose(func(http.ResponseWriter, *http.Request) bool { panic(http.ErrAbortHandler) })
	started := time.Now()
	s.server.CloseClientConnections()
	p.eventually(numbersGone, 6*time.Second)
	require.Less(t, time.Since(started), 5*time.Second, "the loss is on the page within five seconds")
	p.eventually(`!document.getElementById("lost").hidden`, time.Second)
	require.Contains(t, p.text("#lost"), "No answer from wetside.")
	require.Contains(t, p.text("main"), "--.-")
	requireRed(t, p.shoot("board-lost", true), "lost")
	s.interpose(nil)
	p.eventually(numbersBack, 8*time.Second)
	require.True(t, value[bool](p, `document.getElementById("lost").hidden`))
	p.blameless()
}

func TestAPageOutOfSightWakesWithoutOldNumbers(t *testing.T) {
	_, p := running(t)
	sight := func(hidden string) string {
		return `Object.defineProperty(document, "hidden", {configurable: true, get: () => ` + hidden +
			`}); document.dispatchEvent(new Event("visibilitychange")); `
	}
	hide, show := sight("true"), sight("false")
	require.True(t, value[bool](p, hide+numbersGone), "the numbers leave at once")
	time.Sleep(1500 * time.Millisecond)
	require.True(t, value[bool](p, numbersGone), "and stay away")
	require.True(t, value[bool](p, show+numbersGone), "the moment of waking shows none")
	p.eventually(numbersBack, 2*time.Second)
	p.blameless()
}

func TestAClockThatLeapsMakesThePageAskAgain(t *testing.T) {
	_, p := running(t)
	value[bool](p, `(() => { const now = Date.now; window.wereGone = false;
		new MutationObserver(() => { window.wereGone ||= `+numbersGone+` }).observe(document.body, {childList: true, subtree: true});
		Date.now = () => now() + 3600000; return true })()`)
	p.eventually(`window.wereGone`, 2*time.Second)
	p.eventually(numbersBack, 3*time.Second)
	p.blameless()
}

func TestNumbersExpireEvenWithoutTheScript(t *testing.T) {
	s := newSite(t)
	s.Begin()
	s.keepShowing()
	s.interpose(func(w http.ResponseWriter, r *http.Request) bool {
		if strings.HasSuffix(r.URL.Path, ".js") {
			w.WriteHeader(http.StatusInternalServerError)
			return true
		}
		return false
	})
	p := open(t, browser(t), s.host(), screens()[0])
	p.expect("500")
	p.visit(s.server.URL + "/")
	const hidden = `[...document.querySelectorAll(".live")].every(e => e.getClientRects().length === 0 || getComputedStyle(e).visibility ` +
		`=== "hidden")`
	require.False(t, value[bool](p, hidden))
	require.True(t, value[bool](p, numbersBack))
	require.True(t, value[bool](p, `document.getAnimations().every(a => a.effect.getComputedTiming().progress === null)`),
		"until then nothing runs, or the browser would work out the page sixty times a second all evening")
	p.eventually(hidden, 18*time.Second)
	requireRed(t, p.shoot("board-expired", false), "expired")
	p.blameless()
}

func TestBlackoutIsBlackAndEndsOnlyDeliberately(t *testing.T) {
	s, p := running(t)
	p.run(chromedp.KeyEvent("b"))
	dark := func(what string) {
		t.Helper()
		picture := p.shoot("blackout", false)
		require.Zero(t, countLit(picture, picture.Bounds()), what)
	}
	dark("the key makes the screen black")
	p.run(chromedp.KeyEvent("x"), chromedp.KeyEvent(" "), chromedp.KeyEvent("\r"), chromedp.MouseClickXY(900, 500))
	dark("no other key and no short touch ends it")
	p.visit(s.server.URL + "/")
	p.eventually(`!document.getElementById("dark").hidden`, 2*time.Second)
	dark("it outlasts a reload")
	p.run(chromedp.MouseEvent(input.DispatchMouseEventTypeMousePressed, 900, 500, chromedp.ButtonLeft))
	p.eventually(`document.getElementById("dark").hidden`, 2*time.Second)
	p.run(chromedp.MouseEvent(input.DispatchMouseEventTypeMouseReleased, 900, 500, chromedp.ButtonLeft))
	requireRed(t, p.shoot("blackout-ended", false), "after blackout")
	p.run(chromedp.Click("#blackout"))
	dark("the button does the same")
	p.run(chromedp.KeyEvent("b"))
	p.eventually(`document.getElementById("dark").hidden`, time.Second)
	box := value[[]float64](p, `(r => [r.width, r.height])(document.getElementById("blackout").getBoundingClientRect())`)
	require.GreaterOrEqual(t, min(box[0], box[1]), 80.0, "big enough for a wet glove")
	p.blameless()
}

func TestWithoutScriptTheBoardLoadsAgainByItself(t *testing.T) {
	s := newSite(t)
	s.Begin()
	s.keepShowing()
	p := open(t, browser(t), s.host(), screens()[0])
	call(p, emulation.SetScriptExecutionDisabled, emulation.SetScriptExecutionDisabledParams{Value: true})
	p.visit(s.server.URL + "/")
	requireRed(t, p.shoot("board-no-script", false), "without script")
	require.Eventually(t, func() bool { return s.asked.Load() >= 2 }, 8*time.Second, 100*time.Millisecond)
	time.Sleep(time.Second) // a page on its way in can't be photographed; the next is seconds away
	requireRed(t, p.shoot("board-no-script", false), "after loading again")
	p.blameless()
}
