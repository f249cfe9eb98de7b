//go:build browser

package browsertest_test

import (
	"net/http/httptest"
	"strconv"
	"strings"
	"testing"
	"time"

	"github.com/chromedp/chromedp"
	"github.com/stretchr/testify/require"
	"go.uber.org/zap"

	"wetside/chem/ledger"
	"wetside/configs"
	"wetside/daemon/northtest"
	"wetside/dashboard"
	classpage "wetside/dashboard/class"
	"wetside/dashboard/report"
	"wetside/dashboard/viewtest"
	"wetside/rules"
	"wetside/sensors/quantity/phrase"
)

// newShelfSite is a site with an opened bottle of each concentrate on its shelf.
func newShelfSite(t *testing.T, acts ...ledger.Act) *site {
	t.Helper()
	stage, err := viewtest.NewStage()
	require.NoError(t, err)
	catalogue, err := ledger.ParseCatalogue(configs.Catalogue)
	require.NoError(t, err)
	shelf := viewtest.NewShelf(stage.Clock, stage.Scene, ledger.Settings{Catalogue: catalogue})
	stock := []ledger.Act{
		ledger.ContainerNamed{Container: "drum", Vessel: ledger.WasteContainer, Capacity: 20000, Stream: ledger.SilverStream},
		ledger.ContainerNamed{Container: "fixer jug", Vessel: ledger.Bottle, Capacity: 5000, KeptFor: ledger.Fixer},
	}
	for _, c := range []struct{ product, bottle string }{{"print-developer", "PD bottle"}, {"stop-bath", "SB bottle"},
		{"rapid-fixer", "FX bottle"}} {
		p, ok := catalogue.Product(c.product)
		require.True(t, ok)
		stock = append(stock, ledger.LotReceived{Lot: c.bottle + " lot", Product: c.product, Class: p.Class, Units: 3, UnitVolume: 1000,
			Owner: ledger.House},
			ledger.LotOpened{Lot: c.bottle + " lot", Container: c.bottle})
	}
	for _, a := range append(stock, acts...) {
		require.NoError(t, shelf.Write(a))
	}
	b := shelf.Book() // as the room's board knows it
	for bath, tray := range map[string]string{"developer": "Developer tray", "stop": "Stop bath tray", "fixer": "Fixer tray"} {
		held, ok := b.Contents(tray, b.At)
		if !ok {
			continue
		}
		k, _ := b.Container(tray)
		stage.Pour(bath, rules.Portion{Record: k.Filled.Entry, Batch: held.Shares[0].Origin, What: "Invented " + string(held.Class),
			By: k.Filled.By, Filled: k.Filled.At.UTC(), Volume: held.Volume, Concentrate: 1, Water: 9})
	}
	stage.Minutes(5, viewtest.Usual(), viewtest.Values{})
	s := &site{taking: takes(stage), t: t}
	then := &viewtest.Then{Moment: classpage.Moment{Snapshot: stage.Look(stage.Clock.Now()), Readings: 300, SettingsChanged: true,
		Alarms: []report.Alarm{{Text: phrase.Plain("An invented alarm stood."), Raised: viewtest.Evening(),
			Answered: viewtest.Evening().Add(time.Minute), By: "Ida", Done: "looked"}},
		Said: []classpage.Said{{At: viewtest.Evening(), Subject: "developer", From: "2:00", To: "2:06", Text: phrase.Say("it cooled")}}}}
	s.pages, err = dashboard.New(dashboard.Options{View: s.taking, Shelf: shelf, Timers: stage, Reports: viewtest.NewReports(),
		Past: viewtest.NewPast(), Then: then, Screens: viewtest.Screens{}, Maintenance: viewtest.NewMaintenance(),
		FirstRun: viewtest.FirstRun{}, Log: zap.NewNop(), Clock: stage.Clock})
	require.NoError(t, err)
	s.server = httptest.NewServer(s)
	t.Cleanup(func() { s.pages.Close(); s.server.CloseClientConnections(); s.server.Close() })
	s.Publish()
	return s
}

// benches are the two screens of the mixing table: a phone, and the lab computer.
func benches() []screen {
	return []screen{{"phone", 390, 844, true}, {"lab", 1200, 900, false}}
}

// newcomer counts what somebody has to do on the pages.
type newcomer struct {
	*tab
	entries int
}

// types fills one field.
func (n *newcomer) types(selector, text string) {
	n.t.Helper()
	n.run(chromedp.WaitVisible(selector), chromedp.SendKeys(selector, text))
	n.entries++
}

// presses one thing, as large as a thumb, and waits for the page that it leads to.
func (n *newcomer) presses(selector string, leads bool) {
	n.t.Helper()
	n.run(chromedp.WaitVisible(selector))
	require.GreaterOrEqual(n.t, value[float64](n.tab,
		`document.querySelector(`+quoted(selector)+`).closest("label,button,a,summary").getBoundingClientRect().height`), 44.0, selector)
	before := value[float64](n.tab, `performance.timeOrigin`)
	n.run(chromedp.Click(selector))
	n.entries++
	if leads {
		n.eventually(`performance.timeOrigin > `+quotedNumber(before)+` && document.readyState === "complete"`, patience)
	}
}

func TestANewcomerSetsUpAClassInUnderThreeMinutesAndEightEntries(t *testing.T) {
	b := browser(t)
	for _, scr := range benches() {
		t.Run(scr.name, func(t *testing.T) {
			s := northtest.Start(t)
			s.Stock()
			n := &newcomer{tab: open(t, b, s.Host(), scr)}
			began := time.Now()
			n.visit(s.Daemon.URL() + "/rooms/north/set-up")
			n.shoot("set-up-begin", true)
			n.types(`#who`, "Newcomer")
			n.presses(`form.card button[value="as it should be"]`, true)
			n.shoot("set-up-developer", true)
			requireFits(n.tab)
			n.presses(`.bath-step .card button[type=submit]`, true)
			n.shoot("set-up-label", true)
			n.types(`.bath-step .card input[name=parts]`, "1+19")
			n.presses(`.bath-step .card button[type=submit]`, true)
			n.shoot("set-up-stop", true)
			n.presses(`.bath-step .card button[type=submit]`, true)
			n.shoot("set-up-fixer", true)
			n.presses(`.bath-step .card button[type=submit]`, true)
			n.shoot("set-up-put-away", true)
			n.presses(`form.card button[type=submit]`, true)
			n.shoot("set-up-ready", true)
			require.Contains(t, n.text("main"), "The baths are ready")
			require.LessOrEqual(t, n.entries, 8)
			require.Less(t, time.Since(began), 3*time.Minute)
			n.blameless()
			t.Logf("%d entries", n.entries)
		})
	}
}

// requireFits requires that nothing sticks out sideways, and names what does.
func requireFits(p *tab) {
	p.t.Helper()
	if value[float64](p, `document.documentElement.scrollWidth`) > float64(p.screen.width) {
		require.Fail(p.t, "something sticks out sideways", value[string](p, `[...document.querySelectorAll("body *")].filter(e =>
			e.getBoundingClientRect().right > `+quotedNumber(float64(p.screen.width))+`)
			.map(e => e.tagName + "." + e.className + " in " + e.parentElement.className + ": " + e.textContent.slice(0, 60)).join("\n")`))
	}
}

// Somebody with a bottle of his own in hand writes down what its label says; what is
// typed wrongly is said beside the field's name while it is typed, in sight.
func TestAPersonAddsHisOwnBottleInAMinuteAndIsCheckedAsHeTypes(t *testing.T) {
	b := browser(t)
	for _, scr := range benches() {
		t.Run(scr.name, func(t *testing.T) {
			s := northtest.Start(t)
			n := &newcomer{tab: open(t, b, s.Host(), scr)}
			n.visit(s.Daemon.URL() + "/shelf/enter/product-noted")
			began := time.Now()
			says := func(part string) {
				n.eventually(`document.querySelector(".typing").textContent.includes(`+quoted(part)+`)`, patience)
				n.eventually(`(() => { const r = document.querySelector(".typing").getBoundingClientRect(); return r.height > 0 && r.top >= `+
					`document.activeElement.getBoundingClientRect().bottom - 1 && r.bottom <= innerHeight + 1 })()`, patience)
			}
			n.types(`input[name=name]`, "Our fixer")
			n.run(chromedp.SendKeys(`select[name=class]`, "fixer"))
			n.entries++
			n.types(`input[name=aim]`, "1:7")
			says("1+7")
			n.shoot("own-bottle-asked", false)
			n.run(chromedp.SetValue(`input[name=aim]`, "1+7"))
			n.types(`input[name=carries_rc]`, "80 per bottle")
			says("is not a figure with a unit")
			n.run(chromedp.SetValue(`input[name=carries_rc]`, "80 per gallon"))
			n.types(`input[name=who]`, "Newcomer")
			says("Fine so far: Our fixer added")
			n.shoot("own-bottle-good", false)
			n.presses(`form[data-typing] button[type=submit]`, true)
			require.Contains(t, n.text("main"), "Our fixer added [label of the bottle; verified]")
			require.LessOrEqual(t, n.entries, 6)
			require.Less(t, time.Since(began), time.Minute)
			n.blameless()
			t.Logf("%d entries in %.1f s", n.entries, time.Since(began).Seconds())
		})
	}
}

func evening() []ledger.Act {
	mix := func(batch, bottle, product, tray string, class ledger.Class) ledger.Act {
		return ledger.BatchMixed{Batch: batch, Name: "Invented " + string(class), Product: product, Class: class, Into: tray,
			Meant: ledger.FromConcentrate,
			From:  bottle, ParentVolume: 200, Water: 1800, Aim: ledger.Parts{Parent: 1, Water: 9}, Owner: ledger.House}
	}
	sheets := ledger.SheetsUsed{Containers: []string{"Developer tray", "Fixer tray"}, Material: ledger.ResinCoated, Count: 20,
		SheetArea: ledger.EightByTen, People: []string{"Cleo", "Dan"}}
	return []ledger.Act{
		ledger.SessionOpened{Session: "north session", Title: "Invented class", Lead: "Ada"},
		mix("PD 2026-01-15 a", "PD bottle", "print-developer", "Developer tray", ledger.PrintDeveloper),
		mix("FI 2026-01-15 a", "FX bottle", "rapid-fixer", "Fixer tray", ledger.Fixer),
		sheets,
		ledger.TestDone{Test: ledger.IodideTest, Container: "Fixer tray", Seen: "clear"},
		sheets,
		ledger.WasteAdded{Container: "drum", Volume: 3000, What: "rinse of the fixer trays"},
		ledger.SilverMeasured{Container: "drum", Silver: ledger.SilverFigure{Low: 2000, High: 4000}, Method: ledger.TestStrip,
			Sampled: time.Date(2026, 1, 14, 0, 0, 0, 0, time.UTC)},
		ledger.BottleFound{Container: "brown jug", Volume: 700, Capacity: 1000, Where: "under the sink"},
		ledger.TestDone{Test: ledger.IodideTest, Container: "Fixer tray", Seen: "cloudy"},
	}
}

func TestEveryPageOfTheShelfStandsInBothLooks(t *testing.T) {
	t.Parallel()
	b := browser(t)
	pages := map[string]string{
		"shelf": "/shelf", "passport": "/shelf/FI%202026-01-15%20a", "label": "/shelf/label/FI%202026-01-15%20a",
		"mix": "/mix?do=plan&parts=1%2B9&make=64floz", "mix-colon": "/mix?do=plan&parts=1:10&make=2L",
		"mix-check":  "/mix?do=check&parts=1%2B9&poured=100&water=1000",
		"enter-mix":  "/shelf/enter/batch-mixed?from=FX+bottle",
		"enter-test": "/shelf/enter/test-done?container=Fixer+tray&test=iodide+precipitate",
		"mix-time":   "/mix?do=time&points=20C%3D9.30&bath=20", "tests": "/shelf/tests", "enter-product": "/shelf/enter/product-noted",
		"enter-silver": "/shelf/enter/silver-measured?container=drum&sampled=2026-01-15",
		"tonight":      "/rooms/north/tonight?students=8&each=6&size=8x10in&material=resin-coated+paper",
		"take-down":    "/rooms/north/take-down?who=Ada", "baths-use": "/rooms/north/baths",
	}
	for _, scr := range benches() {
		t.Run(scr.name, func(t *testing.T) {
			s := newShelfSite(t, evening()...)
			s.keepShowing()
			p := open(t, b, s.host(), scr)
			for name, path := range pages {
				for _, look := range []string{"day", "red"} {
					p.visit(s.server.URL + in(look, path))
					require.Equal(t, look, value[string](p, `document.documentElement.dataset.look`), name)
					picture := p.shoot(name+"-"+look, true)
					if look == "red" {
						requireRed(t, picture, name)
					}
					requireFits(p)
					p.blameless()
				}
			}
		})
	}
}

func containsQuery(path string) bool { return strings.Contains(path, "?") }

func quotedNumber(f float64) string { return strconv.FormatFloat(f, 'f', -1, 64) }
