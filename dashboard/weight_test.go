package dashboard_test

import (
	"fmt"
	"net/http"
	"regexp"
	"strings"
	"testing"

	"github.com/stretchr/testify/require"

	"wetside/chem/ledger"
	"wetside/dashboard"
	"wetside/dashboard/viewtest"
	"wetside/dashboard/web"
)

// heaviest is what a page may weigh with everything that it loads: 100 kB, so that
// a phone at the mixing table and an old lab computer show it at once.
const heaviest = 100_000

// An old page is not a heavy page: every page is weighed with a full book, a term's
// history and every alarm, together with each style, script and picture it names.
func TestNoPageWeighsMoreThan100Kilobytes(t *testing.T) {
	p := guarded(t, func(o *dashboard.Options) {
		o.Accounts = nil
		stage := o.View.(*viewtest.Stage)
		stage.Remember(func(q web.SeriesQuery) (web.Series, error) {
			s, err := minutely(q)
			step := (len(s.Points) + q.Points - 1) / q.Points // a history sums up, so that no more than so many are left
			for i := range s.Points {
				if i%step == 0 {
					s.Points[i/step] = s.Points[i]
				}
			}
			s.Points = s.Points[:(len(s.Points)+step-1)/step]
			return s, err
		})
		o.Shelf = fullShelf(t, stage)
	})
	weighed, most, which := 0, 0, ""
	for _, route := range p.Patterns() {
		for _, look := range []string{"", "?look=red"} {
			out := p.knock(route+look, "", nil)
			if !strings.HasPrefix(route, "GET ") || !strings.HasPrefix(out.Header().Get("Content-Type"), "text/html") {
				continue
			}
			weighed++
			weight := p.weight(out.Body.String())
			require.Less(t, weight, heaviest, "%s%s in bytes", route, look)
			if weight > most {
				most, which = weight, route+look
			}
		}
	}
	require.Greater(t, weighed, 40, "pages were weighed")
	t.Logf("%d pages; the heaviest is %s with %d bytes", weighed, which, most)
}

var loads = regexp.MustCompile(`(?:src|href)="(/assets/[^"?]+)`)

// fonts are the files that a style loads by itself.
var fonts = regexp.MustCompile(`url\(([a-z0-9.-]+)\)`)

// weight is of a page and of everything that it loads, as sent.
func (p *pages) weight(page string) int {
	sum := len(page)
	for _, m := range loads.FindAllStringSubmatch(page, -1) {
		out := p.get(m[1])
		require.Equal(p.t, http.StatusOK, out.Code, m[1])
		sum += out.Body.Len()
		if !strings.HasSuffix(m[1], ".css") {
			continue
		}
		for _, font := range fonts.FindAllStringSubmatch(out.Body.String(), -1) {
			sum += p.get("/assets/" + font[1]).Body.Len()
		}
	}
	return sum
}

// fullShelf is a book in which a busy term was written.
func fullShelf(t *testing.T, stage *viewtest.Stage) *viewtest.Shelf {
	t.Helper()
	catalogue := catalogueOf(t)
	book := viewtest.NewShelf(stage.Clock, stage.Scene, ledger.Settings{Catalogue: catalogue})
	enter := func(a ledger.Act) {
		t.Helper()
		require.NoError(t, book.Write(a))
	}
	for n := range 20 {
		lot, bottle := fmt.Sprintf("fixer lot %d", n), fmt.Sprintf("fixer bottle %d", n)
		enter(ledger.LotReceived{Lot: lot, Product: "rapid-fixer", Class: ledger.Fixer, Units: 2, UnitVolume: 1000, Owner: ledger.House})
		enter(ledger.LotOpened{Lot: lot, Container: bottle})
	}
	enter(ledger.BatchMixed{Batch: "F1", Name: "Fixer", Product: "rapid-fixer", Class: ledger.Fixer, Into: "Fixer tray",
		Meant: ledger.FromConcentrate,
		From:  "fixer bottle 0", ParentVolume: 200, Water: 1800, Aim: ledger.Parts{Parent: 1, Water: 9}, Owner: ledger.House})
	for range 40 {
		enter(ledger.SheetsUsed{Containers: []string{"Fixer tray"}, Material: ledger.ResinCoated, Count: 1, SheetArea: ledger.EightByTen})
	}
	return book
}
