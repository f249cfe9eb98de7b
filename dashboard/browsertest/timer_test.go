//go:build browser

package browsertest_test

import (
	"errors"
	"net/http"
	"testing"
	"time"

	"github.com/chromedp/chromedp"
	"github.com/stretchr/testify/require"

	"wetside/chem"
	"wetside/dashboard/viewtest"
	"wetside/rules/timers"
	"wetside/sensors"
)

// timing is the page of the timers of a room in which everything runs.
func timing(t *testing.T, scr screen) (*site, *tab) {
	t.Helper()
	s := newSite(t)
	s.Begin()
	s.keepShowing()
	p := open(t, browser(t), s.host(), scr)
	p.visit(s.server.URL + "/rooms/north/timer")
	p.eventually(`document.documentElement.dataset.beat !== undefined`, 3*time.Second)
	return s, p
}

const faces = `document.querySelectorAll(".face[data-timer]").length`

func TestTimersAreStartedPausedResumedAndUndoneByKeysAlone(t *testing.T) {
	for _, scr := range screens() {
		_, p := timing(t, scr)
		requireRed(t, p.shoot("timer-idle", true), "no timer")
		p.run(chromedp.KeyEvent("s"))
		p.eventually(faces+` === 1`, 3*time.Second)
		p.eventually(`document.querySelector(".face-time").innerText !== "2:06"`, 3*time.Second)
		p.run(chromedp.KeyEvent("s"))
		p.eventually(faces+` === 2`, 3*time.Second)
		p.run(chromedp.KeyEvent("1"))
		p.eventually(`document.querySelector("[data-timer='1']").dataset.state === "paused"`, 3*time.Second)
		stood := p.text(`[data-timer="1"] .face-time`)
		requireRed(t, p.shoot("timer-two", true), "two timers")
		require.Equal(t, stood, p.text(`[data-timer="1"] .face-time`), "a paused timer stands")
		p.run(chromedp.KeyEvent(" "))
		p.eventually(`document.querySelector("[data-timer='1']").dataset.state === "running"`, 3*time.Second)
		p.run(chromedp.KeyEvent("z"))
		p.eventually(`document.querySelector("[data-timer='1']").dataset.state === "paused"`, 3*time.Second)
		requireFits(p)
		small := value[float64](p, `Math.min(...[...document.querySelectorAll(".press button")].map(b => `+
			`Math.min(b.getBoundingClientRect().width, b.getBoundingClientRect().height)))`)
		require.GreaterOrEqual(t, small, 80.0, "big enough for a wet glove")
		if scr.name == "desk" {
			require.LessOrEqual(t, value[float64](p, `document.documentElement.scrollHeight`), float64(scr.height), "the timers are one screen")
		}
		p.blameless()
	}
}

func TestATimerGoesOnWhenTheProgramIsLostAndWhenItIsStartedAgain(t *testing.T) {
	s, p := timing(t, screens()[0])
	p.expect("ERR_", "Failed to load")
	p.run(chromedp.KeyEvent("s"))
	p.eventually(faces+` === 1`, 3*time.Second)
	s.interpose(func(http.ResponseWriter, *http.Request) bool { panic(http.ErrAbortHandler) })
	s.server.CloseClientConnections()
	p.eventually(`!document.getElementById("lost").hidden`, 6*time.Second)
	p.eventually(`document.querySelector(".face-notice").innerText.includes("runs on its own")`, time.Second)
	before := p.text(".face-time")
	p.eventually(`document.querySelector(".face-time").innerText !== "`+before+`"`, 3*time.Second)
	requireRed(t, p.shoot("timer-lost", true), "a lost program")

	s.ForgetTimers()
	s.Restarted()
	s.interpose(nil)
	p.eventually(`document.getElementById("lost").hidden`, 8*time.Second)
	p.eventually(`document.querySelectorAll("#kept p").length === 1`, 3*time.Second)
	require.Contains(t, p.text("#kept"), "was restarted")
	before = p.text("#kept .face-time")
	p.eventually(`document.querySelector("#kept .face-time").innerText !== "`+before+`"`, 3*time.Second)
	requireRed(t, p.shoot("timer-kept", true), "a timer that is kept")
	p.run(chromedp.Click("#kept button"))
	p.eventually(`document.getElementById("kept").hidden`, time.Second)
	p.blameless()
}

func TestATimerSaysThatItDoesNotFollowASilentProbeAndARefusalIsSaid(t *testing.T) {
	s, p := timing(t, screens()[0])
	p.run(chromedp.KeyEvent("s"))
	p.eventually(faces+` === 1`, 3*time.Second)
	s.Clock.Advance(45 * time.Second)
	p.eventually(`document.querySelector(".face-notice").innerText.includes("No reading for")`, 3*time.Second)
	requireRed(t, p.shoot("timer-silent", true), "a silent probe")
	s.Clock.Advance(2 * time.Minute)
	p.eventually(`document.querySelector(".face").dataset.state === "done"`, 3*time.Second)
	requireRed(t, p.shoot("timer-done", true), "a timer that is done")
	p.expect("409")
	s.FailTimers(errors.New("no batch is entered for this tray"))
	p.run(chromedp.KeyEvent("s"))
	p.eventually(`document.getElementById("refused").innerText.includes("No batch is entered")`, 3*time.Second)
	requireRed(t, p.shoot("timer-refused", true), "a refusal")
	s.FailTimers(nil)
	s.Publish()
	p.eventually(`document.querySelector(".start .refusal") !== null`, 15*time.Second)
	p.run(chromedp.KeyEvent("s"))
	p.eventually(`document.querySelector(".face[data-up] .face-notice")?.innerText.includes("only counts up")`, 15*time.Second)
	p.eventually(`/^0:[0-5][1-9]$/.test(document.querySelector(".face[data-up] .face-time").innerText)`, 15*time.Second)
	requireRed(t, p.shoot("timer-up", true), "a timer without a time")
	p.blameless()
}

// speaking lets the page speak into a list; headless browsers have no voice.
func (p *tab) speaking() {
	p.t.Helper()
	value[bool](p, `(localStorage.setItem("wetside-sound", "on"), localStorage.setItem("wetside-speech", "on"), true)`)
	p.run(chromedp.Reload())
	p.eventually(`document.documentElement.dataset.beat !== undefined`, 3*time.Second)
	value[bool](p, `(window.spoken = [], speechSynthesis.speak = (words) => { window.spoken.push(words.text) }, true)`)
}

func said(words string) string {
	return `window.spoken.some((text) => text.includes(` + quoted(words) + `))`
}

// Nobody looks at a timer all the time: that its end moved, that it stopped following the
// bath and that it follows again is said and heard, each once.
func TestATimerTellsThatItsEndMovedAndWhetherItFollowsTheBath(t *testing.T) {
	s, p := timing(t, screens()[0])
	p.speaking()
	p.run(chromedp.KeyEvent("s"))
	p.eventually(faces+` === 1`, 3*time.Second)
	p.eventually(`document.querySelector(".face-time").innerText !== "2:06"`, 3*time.Second) // it has been looked at
	s.Minutes(1, viewtest.Values{Developer: 18.6, Stop: 19.1, Fixer: 18.8, Duct: 2.9}, viewtest.Values{})
	s.Publish()
	p.eventually(said("The bath is slower"), 3*time.Second)
	require.Contains(t, p.text(".face-notice"), "the end has moved by +")
	require.True(t, value[bool](p, `window.spoken.some((text) => /^1\. The bath is slower: \d+ seconds more\.$/.test(text))`),
		"in words that a voice reads well")
	s.Clock.Advance(20 * time.Second)
	p.eventually(said("no longer follows the bath"), 3*time.Second)
	require.Equal(t, "look", value[string](p, `document.documentElement.dataset.played`))
	require.Contains(t, p.text(".face-notice"), "No reading for")
	s.Say("developer", 18.6, s.Clock.Now())
	s.Line(sensors.StateLive)
	s.Look(s.Clock.Now())
	s.Publish()
	p.eventually(said("follows the bath again"), 3*time.Second)
	require.InDelta(t, 1, value[float64](p, `window.spoken.filter((text) => text.includes("no longer follows the bath")).length`), 0, "once")
	p.blameless()
}

func TestATimerIsHeardAtItsAgreedPointsAndAtItsEnd(t *testing.T) {
	s, p := timing(t, screens()[0])
	p.speaking()
	p.run(chromedp.KeyEvent("s"))
	p.eventually(faces+` === 1`, 3*time.Second)
	for _, point := range []struct {
		left   time.Duration
		words  string
		played string
	}{{31 * time.Second, "1: 30 seconds", "beep"}, {11 * time.Second, "1: 10 seconds", "beep"},
		{1200 * time.Millisecond, "1. Developer: time is up", "end"}} {
		left := s.Timers("north").Timers[0].Left
		s.Clock.Advance(left - point.left)
		s.Publish()
		p.eventually(said(point.words), 5*time.Second)
		require.Equal(t, point.played, value[string](p, `document.documentElement.dataset.played`))
	}
	p.blameless()
}

func TestTheScreenIsHeldOnWhileATimerRunsAndAPressCanBeUndoneForAMinute(t *testing.T) {
	s, p := timing(t, screens()[0])
	value[bool](p, `(window.held = 0, Object.defineProperty(navigator, "wakeLock", {configurable: true, value: {request: async () => {
		window.held++; const lock = new EventTarget(); lock.release = () => { window.held--; lock.dispatchEvent(new Event("release")) };
		return lock } } }), true)`)
	time.Sleep(300 * time.Millisecond) // three looks of the page
	require.Zero(t, value[float64](p, `window.held`), "no timer, no hold")
	p.run(chromedp.KeyEvent("s"))
	p.eventually(`window.held === 1`, 3*time.Second)
	undo := `document.querySelector("[data-key=Z]")`
	require.False(t, value[bool](p, undo+`.disabled`))
	s.Clock.Advance(61 * time.Second)
	p.eventually(undo+`.disabled`, 3*time.Second)
	p.run(chromedp.KeyEvent("z"))
	p.run(chromedp.Click(`.face [aria-label^="Clear timer"]`))
	p.eventually(faces+` === 0`, 3*time.Second)
	p.eventually(`window.held === 0`, 3*time.Second)
	p.run(chromedp.KeyEvent("z"))
	p.eventually(faces+` === 1`, 3*time.Second)
	p.blameless()
}

func TestTheBoardShowsItsTimersAndStartsOne(t *testing.T) {
	for _, scr := range screens() {
		s := newSite(t)
		s.Begin()
		s.keepShowing()
		p := open(t, browser(t), s.host(), scr)
		p.visit(s.server.URL + "/")
		p.eventually(`document.documentElement.dataset.beat !== undefined`, 3*time.Second)
		p.run(chromedp.Click("#starts .start button"))
		p.eventually(`document.querySelectorAll(".tray [data-timer]").length === 1`, 3*time.Second)
		p.run(chromedp.KeyEvent("s"))
		p.eventually(`document.querySelectorAll(".tray [data-timer]").length === 2`, 3*time.Second)
		requireRed(t, p.shoot("board-timers", true), "a board with timers")
		require.Empty(t, value[string](p, spilt), "what does not fit its place")
		if scr.name == "desk" {
			require.LessOrEqual(t, value[float64](p, `document.documentElement.scrollHeight`), float64(scr.height), "the board is one screen")
		}
		p.blameless()
	}
}

func TestSoundIsTurnedOnByAPressAndPlaysForAnAlarmUntilItIsSeen(t *testing.T) {
	s := newSite(t)
	s.Begin()
	s.keepShowing()
	p := open(t, browser(t), s.host(), screens()[0])
	p.visit(s.server.URL + "/")
	p.eventually(`document.documentElement.dataset.beat !== undefined`, 3*time.Second)
	p.run(chromedp.KeyEvent("l"))
	p.eventually(`document.getElementById("sound-box").open`, time.Second)
	requireRed(t, p.shoot("sound-box", false), "the box of the sound")
	p.run(chromedp.Click(`[data-setting="sound"]`))
	p.eventually(`document.documentElement.dataset.played === "look"`, 3*time.Second)
	p.run(chromedp.Click(`[data-play="act"]`))
	p.eventually(`document.documentElement.dataset.played === "act"`, 3*time.Second)
	p.run(chromedp.SendKeys("#heard-by", "Ida"))
	p.run(chromedp.Click(`button[value="yes"]`))
	p.eventually(`document.querySelector(".heard-answer").innerText.includes("Recorded")`, 3*time.Second)
	require.Len(t, s.Commands(), 1)
	p.run(chromedp.Click("#sound-box [data-close]"))
	value[bool](p, `(document.documentElement.dataset.played = "", true)`)
	s.Minutes(2, viewtest.Values{Developer: 19.4, Stop: 19.1, Fixer: 18.8, Duct: 0.02}, viewtest.Values{})
	s.Publish()
	p.eventually(`document.documentElement.dataset.played === "act"`, 4*time.Second)
	p.blameless()
}

// listening is the page of the timers with a voice that only notes what it is asked to say.
func listening(t *testing.T) (*site, *tab) {
	s, p := timing(t, screens()[0])
	value[bool](p, `(window.spoken = [], window.tongue = "", Object.defineProperty(window, "speechSynthesis", {configurable: true, value: {
		cancel() {}, speak(words) { window.spoken.push(words.text.replace(/\s+/g, " ")); window.tongue = words.lang }}}), true)`)
	return s, p
}

// halts lets the air stop.
func halts(s *site, p *tab) {
	s.Minutes(2, viewtest.Values{Developer: 19.4, Stop: 19.1, Fixer: 18.8, Duct: 0.02}, viewtest.Values{})
	s.Publish()
	p.eventually(`document.getElementById("todo").innerText.includes("HALT")`, 4*time.Second)
}

// Speech is one choice and sound another: what is asked of the browser's voice, for the
// alarm and for a timer, is nothing before somebody ticks it, and these words after.
func TestSpeechIsAskedForWithTheRightWordsOnceItIsSwitchedOn(t *testing.T) {
	s, p := listening(t)
	halts(s, p)
	time.Sleep(1200 * time.Millisecond) // two looks at the alarm
	require.Empty(t, value[[]string](p, `window.spoken`), "nobody asked for a voice")

	s, p = listening(t)
	p.run(chromedp.KeyEvent("l"))
	p.run(chromedp.Click(`[data-setting="speech"]`))
	p.eventually(said("Nothing to do."), 3*time.Second)
	require.Equal(t, "en", value[string](p, `window.tongue`))
	p.run(chromedp.Click("#sound-box [data-close]"))
	p.run(chromedp.KeyEvent("s"))
	p.eventually(faces+` === 1`, 3*time.Second)
	for _, point := range []struct {
		left  time.Duration
		words string
	}{{31 * time.Second, "1: 30 seconds"}, {1200 * time.Millisecond, "1. Developer: time is up"}} {
		s.Clock.Advance(s.Timers("north").Timers[0].Left - point.left)
		s.Publish()
		p.eventually(said(point.words), 5*time.Second)
	}
	halts(s, p)
	p.eventually(said("HALT The fan is on, but no air moves."), 4*time.Second)
	require.Empty(t, value[string](p, `document.documentElement.dataset.played || ""`), "the sound is still off")
	p.blameless()
}

// With sheets in the wash the page of the timers had its last line over the press that starts the next one.
func TestTheTimersKeepTheirPlacesBesideTheWash(t *testing.T) {
	t.Parallel()
	s := newSite(t)
	s.Begin()
	start := func(paper chem.Paper) {
		for _, press := range []timers.Press{{Act: timers.Choose, Paper: paper}, {Act: timers.Start, Bath: "developer"}} {
			press.Seen = s.Timers("north").Revision
			require.NoError(t, s.PressTimer(t.Context(), "north", press))
			s.Publish()
		}
	}
	start(chem.ResinCoated)
	s.Minutes(4, viewtest.Usual(), viewtest.Values{})
	start(0)
	s.Minutes(3, viewtest.Usual(), viewtest.Values{})
	s.keepShowing()
	p := open(t, browser(t), s.host(), sizes()[0])
	p.visit(s.server.URL + "/rooms/north/timer")
	for _, size := range sizes() {
		p.resize(size)
		require.Contains(t, p.text("main"), "Out of the wash", size.name)
		p.shoot("timers-wash", true)
		require.Empty(t, value[[]string](p, broken), size.name)
		if size.width > 1000 {
			require.Zero(t, value[float64](p, `document.documentElement.scrollHeight - innerHeight`), "%s: pixels below the window", size.name)
		}
	}
}
