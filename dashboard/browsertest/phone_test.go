//go:build browser

package browsertest_test

import (
	"testing"

	"github.com/chromedp/chromedp"
	"github.com/stretchr/testify/require"

	"wetside/dashboard/viewtest"
)

// standing counts the rows of the navigation, lows is how high its lowest part is, ways are where it leads.
const (
	standing = `new Set([...document.querySelectorAll(".nav > *")].filter(e => e.getClientRects().length > 0).map(e => ` +
		`Math.round(e.getBoundingClientRect().top))).size`
	lows = `Math.min(...[...document.querySelectorAll(".nav a,.nav summary")].filter(e => e.getClientRects().length > 0).map(e => ` +
		`e.getBoundingClientRect().height))`
	ways = `[...new Set([...document.querySelectorAll(".nav a")].filter(e => e.getClientRects().length > 0).map(e => e.pathname))].sort()`
)

// all are the ways of the navigation, those in closed menus as well.
const all = `[...new Set([...document.querySelectorAll(".nav a")].map(e => e.pathname))].sort()`

// On a phone the navigation takes one row, however long the name of the room is, and what
// has no room in it stands behind one word.
func TestTheNavigationOfAPhoneIsOneRow(t *testing.T) {
	s := newShelfSite(t, evening()...)
	s.Room.Name = "Practice darkroom of the upper school, second cellar"
	s.Minutes(1, viewtest.Usual(), viewtest.Values{})
	s.keepShowing()
	for _, scr := range []screen{{"phone", 390, 844, true}, {"small", 360, 640, true}} {
		p := open(t, browser(t), s.host(), scr)
		for _, c := range []struct{ name, look string }{{"board", "red"}, {"baths", "red"}, {"keeper", "red"}, {"timer", "red"},
			{"baths", "day"}, {"shelf", "day"}} {
			t.Run(c.name+" "+c.look+" "+scr.name, func(t *testing.T) {
				p.t = t
				p.visit(s.server.URL + in(c.look, everyPage()[c.name]))
				require.Equal(t, 1, value[int](p, standing))
				p.run(chromedp.Click(".more > summary"))
				require.GreaterOrEqual(t, value[float64](p, lows), 44.0)
				require.Equal(t, value[[]string](p, all), value[[]string](p, ways), "every page is there, in the row or behind the word")
				picture := p.shoot("nav-"+c.name+"-"+c.look, false)
				if c.look == "red" {
					requireRed(t, picture, c.name)
				}
				requireFits(p)
				p.keepsToWCAG(c.name)
			})
		}
		p.blameless()
	}
}
