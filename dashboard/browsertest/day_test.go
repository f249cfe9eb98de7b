//go:build browser

package browsertest_test

import (
	"math"
	"testing"
	"time"

	"wetside/dashboard/viewtest"
	"wetside/dashboard/web"
)

// history is an invented evening: a tray that cools, with a plug that was out for a while.
func history(q web.SeriesQuery) (web.Series, error) {
	var s web.Series
	step := q.To.Sub(q.From) / time.Duration(q.Points)
	pulled := web.SeriesGap{From: q.From.Add(q.To.Sub(q.From) / 2), To: q.From.Add(q.To.Sub(q.From) * 65 / 100), Cause: "line gone"}
	for at := q.From; at.Before(q.To); at = at.Add(step) {
		if at.After(pulled.From) && at.Before(pulled.To) {
			continue
		}
		x := at.Sub(q.From).Seconds() / q.To.Sub(q.From).Seconds()
		mean := 18.4 + 3.6*math.Exp(-2*x) + 0.1*math.Sin(90*x)
		s.Points = append(s.Points, web.SeriesPoint{At: at, Min: mean - 0.15, Mean: mean, Max: mean + 0.2, Count: 60})
	}
	s.Gaps = []web.SeriesGap{pulled}
	return s, nil
}

func TestEveryDayPageStandsInBothLooks(t *testing.T) {
	t.Parallel()
	b := browser(t)
	for _, scr := range screens() {
		t.Run(scr.name, func(t *testing.T) {
			s := newSite(t)
			s.Begin()
			s.Minutes(2, viewtest.Values{Developer: 17.2, Stop: 19.1, Fixer: 18.8, Duct: 0.02}, viewtest.Values{})
			s.Remember(history)
			s.keepShowing()
			p := open(t, b, s.host(), scr)
			for _, name := range []string{"probes", "baths", "history", "tonight"} {
				for _, look := range []string{"day", "red"} {
					p.visit(s.server.URL + "/rooms/north/" + name + "?look=" + look)
					value[float64](p, unfold)
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
