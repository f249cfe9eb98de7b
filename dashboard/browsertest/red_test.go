//go:build browser

package browsertest_test

import (
	"image"
	"net/http"
	"strings"
	"testing"
	"time"

	"github.com/chromedp/cdproto/network"
	"github.com/stretchr/testify/require"

	"wetside/dashboard/viewtest"
	"wetside/rules"
	"wetside/sensors"
)

// state is a room in a state that the red page must show.
type state struct {
	name  string
	make  func(*site)
	shows []string // words on the page
	never []string // what must not be on it
}

func states() []state {
	return []state{
		{"board-quiet", func(s *site) { s.FillTrays(); s.Minutes(12, viewtest.Usual(), viewtest.Values{Developer: -0.02}) },
			[]string{"MOVING", "Nothing to do", "SIMULATED ROOM"}, []string{"HALT", "CHECK"}},
		{"board-cooling", func(s *site) {
			s.FillTrays()
			s.Minutes(20, viewtest.Values{Developer: 20.2, Stop: 19.1, Fixer: 18.8, Duct: 2.9}, viewtest.Values{Developer: -0.06})
		},
			[]string{"leaves 18° in"}, []string{"HALT"}},
		{"board-cold", func(s *site) {
			s.FillTrays()
			s.Minutes(12, viewtest.Values{Developer: 17.4, Stop: 19.1, Fixer: 18.8, Duct: 2.9}, viewtest.Values{})
		},
			[]string{"TOO COLD", "CHECK"}, []string{"HALT"}},
		{"board-halt", func(s *site) {
			s.Begin()
			s.Minutes(2, viewtest.Values{Developer: 19.4, Stop: 19.1, Fixer: 18.8, Duct: 0.02}, viewtest.Values{})
		},
			[]string{"HALT", "STOPPED"}, []string{"MOVING"}},
		{"board-unplugged", func(s *site) {
			s.Begin()
			s.Silence(time.Minute, sensors.StateGone)
		}, []string{"--.-", "-:--", "NOT PROVEN", "no good reading since"}, []string{"19.4", "18.8"}},
		{"board-nothing-yet", func(*site) {}, []string{"no reading yet", "--.-", "no batch", "not found"}, []string{"0.0"}},
		{"board-two-developers", twoDevelopers, []string{"Warm-tone"}, nil},
	}
}

func twoDevelopers(s *site) {
	second := s.Room.Baths[0]
	second.ID, second.Name = "second", "Warm-tone developer"
	second.Channel = s.Room.Baths[1].Channel
	s.Room.Baths = append([]rules.Bath{s.Room.Baths[0], second}, s.Room.Baths[1:]...)
	s.FillTrays()
	s.Pour("second", rules.Portion{Record: 43, Batch: "WT-3", What: "Warm-tone developer", By: "Ida", Filled: viewtest.Evening()})
	s.Minutes(12, viewtest.Usual(), viewtest.Values{})
}

func TestEveryStateOfTheBoardIsPureRedAndSaysItsWords(t *testing.T) {
	t.Parallel()
	b := browser(t)
	for _, st := range states() {
		for _, scr := range screens() {
			t.Run(st.name+" "+scr.name, func(t *testing.T) {
				s := newSite(t)
				st.make(s)
				s.keepShowing()
				p := open(t, b, s.host(), scr)
				p.visit(s.server.URL + "/")
				p.eventually(`document.documentElement.dataset.beat !== undefined`, 3*time.Second)
				requireRed(t, p.shoot(st.name, true), st.name)
				text := p.text("main")
				for _, words := range st.shows {
					require.Contains(t, text, words)
				}
				for _, words := range st.never {
					require.NotContains(t, text, words)
				}
				requireFits(p)
				require.Empty(t, value[string](p, spilt), "what does not fit its place")
				require.Empty(t, value[string](p, cut), "what needs doing is never cut short")
				require.Empty(t, value[string](p, pressed), "what stands in a tray has its room")
				if scr.name == "desk" {
					require.LessOrEqual(t, value[float64](p, `document.documentElement.scrollHeight`), float64(scr.height), "the board is one screen")
				}
				p.blameless()
			})
		}
	}
}

// cut names what needs doing where it is not shown to its end.
const cut = `[...document.querySelectorAll(".todo .text, .todo .act")].filter(e => e.scrollHeight > e.clientHeight + 1).map(e => ` +
	`e.innerText).join("; ")`

// pressed names what stands in a tray and is lower than a line of it, as nothing tells that it goes on.
const pressed = `[...document.querySelectorAll(".tray .content, .tray .reason, .tray .leaves")].filter(e => {
	const line = parseFloat(getComputedStyle(e).lineHeight);
	return e.innerText && (e.clientHeight < line - 1 || e.clientHeight % line > 2 && e.clientHeight % line < line - 2 ||
		e.getBoundingClientRect().bottom > e.closest(".tray").getBoundingClientRect().bottom - 8) }).map(e => e.innerText).join("; ")`

// spilt names the trays, and the air and to-do places, whose content is higher or wider than they are.
const spilt = `[...document.querySelectorAll(".tray,.air,.todo")].filter(e => e.scrollHeight > e.clientHeight + 1 || e.scrollWidth > ` +
	`e.clientWidth + 1).map(e => e.className + " " + e.innerText).join("; ")`

// A 24-inch screen of 16:9 is 299 mm high; 40 mm is what 45 minutes of arc are at 3 m.
const screenHeight, digitHeight = 299.0, 40.0

func TestTheTimeIsReadAtThreeMetres(t *testing.T) {
	b := browser(t)
	for _, st := range states() {
		if st.name != "board-quiet" && st.name != "board-two-developers" {
			continue
		}
		s := newSite(t)
		st.make(s)
		s.keepShowing()
		p := open(t, b, s.host(), screens()[0])
		p.visit(s.server.URL + "/")
		picture := p.shoot(st.name, false)
		box := value[[]float64](p, `(r => [r.x, r.y, r.right, r.bottom])(document.querySelector(".time strong").getBoundingClientRect())`)
		ink := inkRows(picture, image.Rect(int(box[0]), int(box[1])-40, int(box[2]), int(box[3])+40))
		require.GreaterOrEqual(t, float64(ink)/float64(p.screen.height)*screenHeight, digitHeight, "%s: digits in mm", st.name)
		require.Contains(t, value[string](p, `getComputedStyle(document.querySelector(".time strong")).fontVariantNumeric`), "tabular-nums")
	}
}

// smallest gives the height in pixels of the digits of the smallest text with a figure that the
// board shows, and that text.
const smallest = `(() => {
	const c = document.createElement("canvas").getContext("2d"), walk = document.createTreeWalker(document.body, NodeFilter.SHOW_TEXT);
	let best = {high: 1e9, text: ""};
	for (let n = walk.nextNode(); n; n = walk.nextNode()) {
		const e = n.parentElement, r = e.getBoundingClientRect();
		if (!/\d/.test(n.data) || r.width < 2 || r.bottom > innerHeight) continue;
		if (e.closest(".hidden,script,style,noscript,dialog,.menu-pages")) continue;
		const s = getComputedStyle(e);
		c.font = s.fontWeight + " 100px B612";
		const high = c.measureText("8").actualBoundingBoxAscent / 100 * parseFloat(s.fontSize);
		if (high < best.high) best = {high, text: n.data.trim()};
	}
	return best;
})()`

// A 13.3-inch screen stands at half a metre, where the 16 minutes of arc below which ISO 9241-3 lets no text
// go (as quoted second-hand) are 2.3 mm. A 24-inch screen is read from farther away: from two metres, where
// they are 9.3 mm, only what is largest.
func TestEveryFigureOfTheBoardIsReadAtArmsLength(t *testing.T) {
	type text struct {
		High float64 `json:"high"`
		Text string  `json:"text"`
	}
	s := newShelfSite(t, evening()...)
	s.Minutes(12, viewtest.Usual(), viewtest.Values{Developer: -0.02})
	s.keepShowing()
	p := open(t, browser(t), s.host(), screens()[0])
	p.visit(s.server.URL + "/")
	for _, scr := range []struct {
		screen
		high float64 // mm of the whole screen
	}{{screen{"13.3 inch, 16:10", 1280, 800, false}, 179}, {screen{"13.3 inch, 16:9", 1366, 768, false}, 166},
		{screen{"24 inch", 1920, 1080, false}, 299}} {
		p.resize(scr.screen)
		least := value[text](p, smallest)
		mm := least.High / float64(scr.height) * scr.high
		t.Logf("%s: the smallest figure is %.1f mm high: %s", scr.name, mm, least.Text)
		require.GreaterOrEqual(t, mm, 2.3, "%s: %s", scr.name, least.Text)
	}
	for _, far := range []string{".time", ".temperature", ".air-word", ".changes b", ".clock"} {
		size := value[float64](p, `parseFloat(getComputedStyle(document.querySelector("`+far+`")).fontSize)`)
		const digit = 0.73 // of the size of the font: its digits are higher
		require.GreaterOrEqual(t, size*digit/1080*screenHeight, 9.3, "%s at two metres", far)
	}
}

// inkRows counts the longest run of rows of a picture that hold something lit.
func inkRows(picture image.Image, in image.Rectangle) int {
	best, run := 0, 0
	for y := in.Min.Y; y < in.Max.Y; y++ {
		run++
		if countLit(picture, image.Rect(in.Min.X, y, in.Max.X, y+1)) == 0 {
			run = 0
		}
		best = max(best, run)
	}
	return best
}

func TestErrorsFormsAndTheIndexAreRedToo(t *testing.T) {
	t.Parallel()
	b := browser(t)
	for _, scr := range screens() {
		s := newSite(t)
		s.Begin()
		north := s.Publish()
		south, err := viewtest.NewScene("south", "South darkroom")
		require.NoError(t, err)
		s.Show(north, south.Look(s.Clock.Now()))
		p := open(t, b, s.host(), scr)
		p.expect("404", "400")
		for name, path := range map[string]string{"index": "/", "not-found": "/nowhere", "no-room": "/rooms/west/board",
			"bad-time": "/rooms/north/history?from=x"} {
			p.visit(s.server.URL + path)
			requireRed(t, p.shoot(name, true), name)
			requireFits(p)
		}
		p.blameless()
	}
}

func TestNothingLightsUpWhileAPageLoads(t *testing.T) {
	s := newSite(t)
	s.Begin()
	s.keepShowing()
	p := open(t, browser(t), s.host(), screens()[0])
	p.expect("404", "icon from the Manifest") // a page that is left while its files are slow
	p.visit(s.server.URL + "/")
	s.interpose(func(_ http.ResponseWriter, r *http.Request) bool {
		if strings.HasPrefix(r.URL.Path, "/assets/") {
			time.Sleep(400 * time.Millisecond)
		}
		return false
	})
	call(p, network.SetCacheDisabled, network.SetCacheDisabledParams{CacheDisabled: true})
	for _, path := range []string{"/rooms/north/board", "/rooms/north/baths?look=red", "/rooms/north/history?look=red",
		"/rooms/north/air?look=red", "/rooms/north/alarms?look=red", "/rooms/north/timer", "/nowhere"} {
		frames := p.film(func() { p.visit(s.server.URL + path) })
		require.NotEmpty(t, frames, path)
		for _, frame := range frames {
			requirePure(t, frame, path)
		}
		requireRed(t, p.shoot("loaded", false), path)
	}
	p.blameless()
}

func TestAPageWhoseStyleNeverComesIsStillRed(t *testing.T) {
	b := browser(t)
	s := newSite(t)
	s.Begin()
	s.keepShowing()
	s.interpose(func(w http.ResponseWriter, r *http.Request) bool {
		if strings.HasSuffix(r.URL.Path, ".css") {
			w.WriteHeader(http.StatusInternalServerError)
			return true
		}
		return false
	})
	p := open(t, b, s.host(), screens()[0])
	p.expect("500")
	for _, path := range []string{"/", "/rooms/north/probes?look=red", "/rooms/north/history?look=red"} {
		p.visit(s.server.URL + path)
		requireRed(t, p.shoot("without-style", true), path)
	}
	p.blameless()
}
