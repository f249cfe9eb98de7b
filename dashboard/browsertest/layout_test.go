//go:build browser

package browsertest_test

import (
	"math"
	"testing"
	"time"

	"github.com/chromedp/cdproto/emulation"
	"github.com/chromedp/chromedp"
	"github.com/stretchr/testify/require"

	"wetside/chem/ledger"
	"wetside/dashboard/viewtest"
	"wetside/dashboard/web"
	"wetside/rules"
	"wetside/rules/session"
	"wetside/rules/timers"
	"wetside/sensors"
	"wetside/sensors/quantity/phrase"
)

// sizes are the windows in which the board is one screen and no page breaks.
func sizes() []screen {
	return []screen{{"1280x800", 1280, 800, false}, {"1366x768", 1366, 768, false}, {"1024x768", 1024, 768, false},
		{"1920x1080", 1920, 1080, false},
		{"820x1180", 820, 1180, true}, {"390x844", 390, 844, true}}
}

// resize gives the window another size without loading the page again.
func (p *tab) resize(s screen) {
	p.t.Helper()
	p.screen = s
	call(p, emulation.SetDeviceMetricsOverride, emulation.SetDeviceMetricsOverrideParams{Width: s.width, Height: s.height,
		DeviceScaleFactor: 1, Mobile: s.touch})
	p.eventually(`document.documentElement.clientWidth === `+quotedNumber(float64(s.width)), time.Second)
}

// onEachOther names the presses of the foot that lie over one another.
const onEachOther = `(() => {
	const all = [...document.querySelectorAll(".foot :is(button,summary)")].filter(e => e.checkVisibility());
	const over = (a, b) => a.left < b.right && b.left < a.right && a.top < b.bottom && b.top < a.bottom;
	return all.flatMap((a, i) => all.slice(i + 1).filter(b => over(a.getBoundingClientRect(), b.getBoundingClientRect()))
		.map(b => a.textContent.trim() + " over " + b.textContent.trim()));
})()`

// broken names what is wrong with the layout of a page as it is seen: what sticks out of the
// window, texts that lie over one another, texts that leave their box or are cut, and tables
// of which a part is behind the edge.
const broken = `(() => {
	const out = [], wide = document.documentElement.clientWidth,
		name = (e) => (e.closest("[class]")?.getAttribute("class") || e.tagName) + ": " +
		(e.textContent || "").trim().slice(0, 40);
	const folded = (e) => [...document.querySelectorAll("details:not([open])")].some(d =>
		d.contains(e) && !d.querySelector("summary")?.contains(e));
	const unseen = (e) => { for (let p = e; p; p = p.parentElement) if (getComputedStyle(p).clipPath === "inset(50%)") return true;
		return false };
	const skip = (e) => { if (unseen(e)) return true; const s = getComputedStyle(e);
		return e.closest(".hidden,.hide,.skip,dialog:not([open]),[hidden],option,script,style,title,noscript,defs") ||
			folded(e) || s.visibility === "hidden" || s.display === "none" };
	const texts = [], walk = document.createTreeWalker(document.body, NodeFilter.SHOW_TEXT);
	for (let n = walk.nextNode(); n; n = walk.nextNode()) {
		const e = n.parentElement;
		if (!n.data.trim() || skip(e)) continue;
		const range = document.createRange();
		range.selectNodeContents(n);
		for (const r of range.getClientRects()) {
			if (r.width < 1 || r.height < 1) continue;
			texts.push({e, l: r.left + 1, r: r.right - 1, t: r.top + 0.26 * r.height,
				b: r.bottom - 0.26 * r.height, fixed: !!e.closest(".foot,.lost,.refused")});
		}
	}
	for (const x of texts) {
		if (x.r > wide + 1 || x.l < -1) { const box = x.e.closest(".scroll,.report-grid,.table");
		out.push((box ? "table cut at the edge: " : "out of the window: ") + name(x.e)); }
		const box = x.e.closest(".tray,.air,.todo,.face,button,summary,.button,.chip,.card");
		if (box && !x.e.closest("svg")) { const b = box.getBoundingClientRect();
		if (x.r > b.right + 1 || x.l < b.left - 1 || x.b > b.bottom + 1 || x.t < b.top - 1) out.push("out of its box: " + name(x.e)); }
	}
	for (let i = 0; i < texts.length; i++) for (let j = i + 1; j < texts.length && j < i + 400; j++) {
		const a = texts[i], b = texts[j];
		if (a.fixed !== b.fixed || a.e === b.e) continue;
		if (Math.min(a.r, b.r) - Math.max(a.l, b.l) > 1 && Math.min(a.b, b.b) - Math.max(a.t, b.t) > 1)
			out.push("one over the other: " + name(a.e) + " / " + name(b.e));
	}
	for (const e of document.querySelectorAll("body *")) {
		if (skip(e) || e.closest("svg,select,textarea,input")) continue;
		const s = getComputedStyle(e);
		if (s.overflowX !== "visible" && e.scrollWidth > e.clientWidth + 1 && e.clientWidth > 0) out.push("cut or scrolled sideways: " + name(e));
		if (s.overflowY === "hidden" && e.scrollHeight > e.clientHeight + 2 && e.clientHeight > 0 &&
			e.textContent.trim()) out.push("cut below: " + name(e));
	}
	if (document.documentElement.scrollWidth > wide) out.push("the page is " + document.documentElement.scrollWidth + " wide");
	return [...new Set(out)].slice(0, 12);
})()`

// offScale names the texts whose letters are of none of the five sizes that the style declares: what fills
// its place, as a developing time does, and drawings that grow with theirs are larger or smaller; a report
// looks as in the file that is kept.
const offScale = `(() => {
	const probe = document.body.appendChild(document.createElement("i")), size = (e) => getComputedStyle(e).fontSize;
	const scale = ["s", "m", "l", "xl", "xxl"].map((step) => { probe.style.fontSize = "var(--" + step + ")"; return size(probe) });
	probe.remove();
	const out = [], walk = document.createTreeWalker(document.body, NodeFilter.SHOW_TEXT);
	for (let n = walk.nextNode(); n; n = walk.nextNode()) {
		const e = n.parentElement;
		if (n.data.trim() && !scale.includes(size(e)) &&
			!e.closest("script,style,noscript,.hidden,.hide,svg[viewBox],.report,.time,.face-time,.big-time"))
			out.push(size(e) + " " + (e.closest("[class]")?.className || e.tagName) + ": " + n.data.trim().slice(0, 30));
	}
	for (const e of document.querySelectorAll("input:not([type=hidden],[type=checkbox],[type=radio]),select,textarea,button"))
		if (!scale.includes(size(e))) out.push(size(e) + " " + e.tagName + " " + e.className + e.name);
	return [...new Set(scale)].length === 5 ? [...new Set(out)].slice(0, 12) : ["no scale of five sizes: " + scale];
})()`

// taller is by how many pixels a board is higher than its window.
const taller = `Math.max(0, document.documentElement.scrollHeight - innerHeight, ` +
	`...[...document.querySelectorAll(".tray,.air,.todo")].map(e => e.scrollHeight - e.clientHeight - 1))`

// shortened are the words of the head that end in dots, but for the name of a place, which may be as long as it likes.
const shortened = `[...document.querySelectorAll(".head p:not(.place)")].filter(e => e.scrollWidth > e.clientWidth + 1)` +
	`.map(e => e.textContent)`

// touching are the limits of a picture that the times beside it begin right behind.
const touching = `[...document.querySelectorAll(".tray:has(.wet-line) .edge-name")].filter(e => {
	const a = e.getBoundingClientRect(), b = e.closest(".tray").querySelector(".wet-line").getBoundingClientRect();
	return a.right > b.left - 8 && a.left < b.right && a.bottom > b.top && a.top < b.bottom;
}).map(e => e.textContent)`

// cooled is an invented evening of a tray: from 22 °C down to what it has now.
func cooled(q web.SeriesQuery) (web.Series, error) {
	var s web.Series
	step := q.To.Sub(q.From) / time.Duration(q.Points)
	for i := range q.Points {
		x := float64(i) / float64(q.Points)
		mean := 19.3 + 2.7*math.Exp(-3*x) + 0.04*math.Sin(60*x)
		s.Points = append(s.Points, web.SeriesPoint{At: q.From.Add(time.Duration(i) * step), Min: mean - 0.1, Mean: mean, Max: mean + 0.1,
			Count: 30})
	}
	return s, nil
}

// stopped is an evening in which no air moves.
func stopped() viewtest.Values {
	return viewtest.Values{Developer: 19.4, Stop: 19.1, Fixer: 18.8, Duct: 0.02}
}

// tomorrow is the evening before that of a class, with nothing in the trays: its day stands in the head.
func tomorrow(s *site) {
	s.Room.Name = "Practice darkroom (simulated)"
	s.Room.Calendar = session.Calendar{Zone: time.UTC, Weekly: []session.Weekly{{Title: "Invented evening class", Weekday: time.Friday,
		From: 18 * 60, To: 21*60 + 30}}}
	s.Minutes(2, viewtest.Usual(), viewtest.Values{})
}

// layoutStates are the thirteen states in which the board is looked at in every size.
func layoutStates() []state {
	cooling := func(s *site) {
		s.FillTrays()
		s.Minutes(20, viewtest.Values{Developer: 20.2, Stop: 19.1, Fixer: 18.8, Duct: 2.9}, viewtest.Values{Developer: -0.06})
	}
	halt := func(s *site) {
		s.Begin()
		s.Minutes(2, stopped(), viewtest.Values{})
	}
	return []state{
		{"fresh", func(s *site) { s.FillTrays(); s.Minutes(12, viewtest.Usual(), viewtest.Values{Developer: -0.02}) },
			[]string{"MOVING", "Nothing to do.", "stop", "fix", "wash"}, []string{"HALT", "PD-17"}},
		{"four-trays", fourTrays, []string{"Announce", "Nothing to do.", "200 sheets"}, []string{"HALT"}},
		{"forecast", cooling, []string{"leaves 18° in"}, []string{"HALT"}},
		{"past-limit", func(s *site) { pastLimits(s); s.Minutes(12, viewtest.Usual(), viewtest.Values{}) }, []string{"must not be used",
			"-:--", "Discard it and refill the tray"}, []string{"from 2:00", "Nothing to do"}},
		{"three-timers", func(s *site) { s.Probed(s.Clock.Now().Wall); s.Begin() }, []string{"sheet 2", "sheet 3", "next sheet", "+0:",
			"Sheet 1 is past its time", "confirm or dismiss the finding"}, []string{"Nothing to do"}},
		{"alarm-timers", func(s *site) { s.Begin() }, []string{"HALT", "STOPPED", "sheet 2", "sheet 3", "next sheet", "+0:"},
			[]string{"MOVING", "Nothing to do"}},
		{"alarm", halt, []string{"HALT", "STOPPED"}, []string{"MOVING"}},
		{"alarm-returned", func(s *site) { halt(s); s.Minutes(3, viewtest.Usual(), viewtest.Values{}) }, []string{"MOVING", "Seen?"},
			[]string{"HALT"}},
		{"no-probe", func(s *site) { s.Begin(); s.Silence(time.Minute, sensors.StateGone) }, []string{"--.-", "-:--", "NOT PROVEN"},
			[]string{"19.4", "18.8", "Nothing to do"}},
		{"new-site", func(*site) {}, []string{"5 probes not found", "Set up for a class", "--.-"}, []string{"Nothing to do", "0.0"}},
		{"two-developers", twoDevelopers, []string{"Warm-tone", "stop", "fix", "wash"}, []string{"HALT"}},
		{"planned", tomorrow, []string{"Invented evening class", "19:00 to 22:30", "Set up for a class"}, []string{"HALT"}},
		{"long-names", longNames, []string{"Practice darkroom of the upper school", "Second fixing bath"}, nil},
	}
}

// fourTrays are the trays of an evening as it usually is: each says how many sheets are left in it, and the
// time of the developer is still to be announced.
func fourTrays(s *site) {
	s.Room.Name = "Practice darkroom (simulated)"
	second := s.Room.Baths[2]
	second.ID, second.Name = "second", "Second fixer"
	s.Room.Baths = append(s.Room.Baths[:3:3], second, s.Room.Baths[3])
	s.FillTrays()
	left := []ledger.Left{{Material: ledger.ResinCoated, Sheets: 200}, {Material: ledger.FibreBased, Sheets: 100}}
	for i, bath := range []string{"developer", "stop", "fixer", "second"} {
		s.Pour(bath, rules.Portion{Record: uint64(41 + i), Batch: "B-4", What: bath, By: "Ida", Filled: viewtest.Evening(),
			Known: &rules.Known{Limit: rules.Limit{Verdict: ledger.Pour, Left: left}}})
	}
	s.Minutes(12, viewtest.Usual(), viewtest.Values{})
}

// pastLimits pours a developer that must not be used any more.
func pastLimits(s *site) {
	s.FillTrays()
	words := phrase.Plain("open for 12 h, at most 8 h")
	s.Pour("developer", rules.Portion{Record: 41, Batch: "PD-17", What: "Paper developer", By: "Ida", Filled: viewtest.Evening(),
		Known: &rules.Known{Limit: rules.Limit{Verdict: ledger.Discard, Words: words}}})
	left := []ledger.Left{{Material: ledger.ResinCoated, Sheets: 200, Sure: true}, {Material: ledger.FibreBased, Sheets: 100, Sure: true}}
	s.Pour("fixer", rules.Portion{Record: 42, Batch: "FX-4", What: "Rapid fixer", By: "Ida", Filled: viewtest.Evening(),
		Known: &rules.Known{Limit: rules.Limit{Verdict: ledger.Pour, Left: left}}})
}

func longNames(s *site) {
	s.Room.Name = "Practice darkroom of the upper school, second cellar"
	s.Room.Baths[0].Name = "Warm-tone print developer"
	s.Room.Baths[1].Name = "Zitronensäurestoppbadschale am Fenster"
	s.Room.Baths[2].Name = "First fixing bath, rapid"
	second := s.Room.Baths[2]
	second.ID, second.Name = "second", "Second fixing bath, rapid"
	s.Room.Baths = append(s.Room.Baths[:3:3], second, s.Room.Baths[3])
	pastLimits(s)
	s.Minutes(20, viewtest.Values{Developer: 20.2, Stop: 17.1, Fixer: 18.8, Duct: 2.9}, viewtest.Values{Stop: -0.05})
}

// threeTimers starts three timers, of which the first runs past its end.
func threeTimers(t *testing.T, s *site, during viewtest.Values) {
	t.Helper()
	for range 3 {
		require.NoError(t, s.PressTimer(t.Context(), "north", timers.Press{Act: timers.Start, Bath: "developer",
			Seen: s.Timers("north").Revision}))
		s.Minutes(1, during, viewtest.Values{})
		s.Publish()
	}
}

// The board is one screen in every layout and in every state, and nothing on it is cut, lies
// over something else or leaves its place; one page is loaded for each state, and resized.
func TestTheBoardIsOneScreenAndWholeInEverySizeAndState(t *testing.T) {
	t.Parallel()
	b := browser(t)
	for _, st := range layoutStates() {
		t.Run(st.name, func(t *testing.T) {
			s := newSite(t)
			s.Remember(cooled)
			st.make(s)
			s.keepShowing()
			switch st.name {
			case "three-timers":
				threeTimers(t, s, viewtest.Usual())
			case "alarm-timers":
				threeTimers(t, s, stopped())
			}
			p := open(t, b, s.host(), sizes()[0])
			p.visit(s.server.URL + "/rooms/north/board")
			p.eventually(`document.documentElement.dataset.beat !== undefined && document.fonts.check("700 20px B612")`, 3*time.Second)
			for _, size := range sizes() {
				p.resize(size)
				requireRed(t, p.shoot("board-"+st.name, true), st.name)
				text := p.text("main")
				for _, words := range st.shows {
					require.Contains(t, text, words, size.name)
				}
				for _, words := range st.never {
					require.NotContains(t, text, words, size.name)
				}
				require.Empty(t, value[[]string](p, broken), size.name)
				require.Empty(t, value[[]string](p, offScale), size.name)
				require.Zero(t, value[float64](p, taller), "%s: pixels below the window", size.name)
				if len(st.never) == 0 || st.never[0] != "MOVING" { // an alarm takes the line of a phone
					require.Empty(t, value[[]string](p, shortened), size.name)
				}
				require.Empty(t, value[[]string](p, touching), size.name)
				require.Empty(t, value[[]string](p, onEachOther), size.name)
				if st.name != "two-developers" { // whose starts take its place
					require.True(t, value[bool](p, `!!document.querySelector("#starts .paper")?.getClientRects().length`), "%s: a press for the paper",
						size.name)
				}
			}
			p.visit(s.server.URL + "/rooms/north/timer")
			for _, size := range sizes() {
				p.resize(size)
				require.Empty(t, value[[]string](p, broken), "timer, %s", size.name)
				require.Empty(t, value[[]string](p, shortened), "timer, %s", size.name)
			}
			p.blameless()
		})
	}
}

// tablets are the sizes in which a page for people with work to do is four screens high at most.
func tablets() []screen {
	return []screen{{"1024x768", 1024, 768, true}, {"820x1180", 820, 1180, true}}
}

// squeezed names what has so little room that a word is broken into letters, or that a column of
// words stands where a line could.
const squeezed = `[...document.querySelectorAll("main :is(a,p,span,td,th,h2,h3,dd,dt,label,strong)")].filter(e => {
	if (!e.getClientRects().length || e.closest("svg,.code,.hide,[aria-hidden]") || e.children.length) return false;
	const text = e.firstChild;
	if (!text || text.nodeType !== 3) return false;
	const lines = (from, to) => {
		const range = document.createRange();
		range.setStart(text, from); range.setEnd(text, to);
		return new Set([...range.getClientRects()].map(r => Math.round(r.top))).size;
	};
	const words = text.data.trim().split(/[\s\u2010-]+/), long = words.toSorted((a, b) => b.length - a.length)[0];
	const at = text.data.indexOf(long), high = lines(0, text.length);
	return high > words.length || high > 5 && e.getBoundingClientRect().width < 6 * parseFloat(getComputedStyle(e).fontSize) ||
		long.length > 4 && long.length < 25 && at >= 0 && lines(at, at + long.length) > 1;
}).map(e => e.textContent.trim().slice(0, 40))`

// uneven are the heights of the cards in each row whose cards are not of one height.
const uneven = `[...document.querySelectorAll("main .cards")].flatMap(e => {
	const tops = new Map();
	for (const c of e.children) { const b = c.getBoundingClientRect(); const k = Math.round(b.top);
		if (b.height) tops.set(k, [...(tops.get(k) || []), Math.round(b.height)]); }
	return [...tops.values()].filter(h => Math.max(...h) - Math.min(...h) > 2).map(h => h.join(", "));
})`

// On a tablet every page is whole and short: long parts are folded behind a word that tells of them,
// columns become cells with their names, and cards of a row are of one height. Red letters are the larger.
func TestAPageOnATabletIsWholeAndShort(t *testing.T) {
	t.Parallel()
	s := newShelfSite(t, evening()...)
	s.Remember(history)
	s.keepShowing()
	p := open(t, browser(t), s.host(), tablets()[0])
	for name, path := range everyPage() {
		t.Run(name, func(t *testing.T) {
			p.t = t
			p.resize(tablets()[0])
			p.visit(s.server.URL + in("red", path))
			for _, size := range tablets() {
				p.resize(size)
				require.Empty(t, value[[]string](p, broken), size.name)
				require.Empty(t, value[[]string](p, squeezed), "%s: words broken into letters", size.name)
				require.Empty(t, value[[]string](p, uneven), "%s: heights of cards in one row", size.name)
				if name != "report" { // which is read from the first line to the last, as its paper is
					require.LessOrEqual(t, value[float64](p, `document.documentElement.scrollHeight / innerHeight`), 4.0, size.name)
				}
			}
			p.blameless()
		})
	}
}

// At a desk a page of work is read in three screens, in red letters too, which are the larger: what is
// rarely asked for stands behind one press, and what belongs together stands side by side.
func TestAPageOfWorkAtADeskIsThreeScreensAtMost(t *testing.T) {
	t.Parallel()
	s := newShelfSite(t, evening()...)
	s.Remember(history)
	s.keepShowing()
	p := open(t, browser(t), s.host(), sizes()[0])
	for _, name := range []string{"shelf", "tests", "weeks", "limits", "set-up", "take-down", "labels", "then", "passport"} {
		for _, look := range []string{"day", "red"} {
			t.Run(name+" "+look, func(t *testing.T) {
				p.t = t
				p.visit(s.server.URL + in(look, everyPage()[name]))
				for _, size := range sizes()[:2] {
					p.resize(size)
					require.Empty(t, value[[]string](p, broken), size.name)
					require.Empty(t, value[[]string](p, squeezed), "%s: words broken into letters", size.name)
					require.LessOrEqual(t, value[float64](p, `document.documentElement.scrollHeight / innerHeight`), 3.0, size.name)
				}
				p.shoot("desk-"+name+"-"+look, true)
				p.blameless()
			})
		}
	}
}

// Single keys are listed on "?" and can be switched off for a computer, as WCAG 2.1.4 asks;
// the black screen still ends by its key. An open alarm stands in the title of the page.
func TestSingleKeysAreListedAndCanBeSwitchedOff(t *testing.T) {
	s := newSite(t)
	s.Begin()
	s.Minutes(2, viewtest.Values{Developer: 19.4, Stop: 19.1, Fixer: 18.8, Duct: 0.02}, viewtest.Values{})
	s.keepShowing()
	p := open(t, browser(t), s.host(), sizes()[0])
	p.visit(s.server.URL + "/rooms/north/board")
	p.eventually(`document.title.startsWith("! HALT · ")`, 3*time.Second)
	p.run(chromedp.KeyEvent("m"))
	p.eventually(`document.getElementById("menu").open`, time.Second)
	requireRed(t, p.shoot("board-menu", false), "the menu")
	require.Empty(t, value[[]string](p, broken))
	p.run(chromedp.KeyEvent("m"))
	p.run(chromedp.KeyEvent("?"))
	p.eventually(`document.getElementById("keys-box").open`, time.Second)
	requireRed(t, p.shoot("board-keys", false), "the list of keys")
	p.run(chromedp.Click("#keys-box [data-keys]"), chromedp.Click("#keys-box [data-close]"))
	p.run(chromedp.KeyEvent("s"), chromedp.KeyEvent("b"), chromedp.KeyEvent("a"), chromedp.KeyEvent("?"))
	time.Sleep(500 * time.Millisecond)
	require.True(t, value[bool](p, `document.getElementById("dark").hidden && !document.getElementById("keys-box").open`))
	require.Empty(t, s.Timers("north").Timers)
	require.Empty(t, s.Commands())
	p.run(chromedp.Click("#blackout"), chromedp.KeyEvent("b"))
	p.eventually(`document.getElementById("dark").hidden`, time.Second)

	value[bool](p, `(localStorage.removeItem("wetside-keys"), true)`)
	p.run(chromedp.Reload())
	p.eventually(`document.documentElement.dataset.beat !== undefined`, 3*time.Second)
	p.run(chromedp.KeyEvent("a"))
	require.Eventually(t, func() bool { return len(s.Commands()) == 1 }, 5*time.Second, 20*time.Millisecond)
	require.Equal(t, rules.AcknowledgeAlarm{Alarm: "air", Screen: "the lab computer"}, s.Commands()[0].Act)
	p.blameless()
}
