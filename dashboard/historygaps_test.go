package dashboard_test

import (
	"regexp"
	"strings"
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"wetside/dashboard/report"
	"wetside/dashboard/viewtest"
	"wetside/dashboard/web"
	"wetside/sensors"
)

func TestAGapSaysWhetherItLiesInASession(t *testing.T) {
	end := viewtest.Evening()
	hour := func(h float64) time.Time { return end.Add(time.Duration(h * float64(time.Hour))) }
	p := pastPages(t, &viewtest.Past{Evenings: []report.Session{{Room: "north", Begun: hour(-3), Ended: hour(-1)}}})
	p.Remember(func(web.SeriesQuery) (web.Series, error) {
		return web.Series{Gaps: []web.SeriesGap{
			{From: hour(-6), To: hour(-5), Cause: "machine off"},
			{From: hour(-4.5), To: hour(-4), Cause: "not recorded"},
			{From: hour(-3.5), To: hour(-2.75), Cause: string(sensors.LineLost)},
			{From: hour(-0.5), Cause: string(sensors.Silent)}}}, nil
	})
	text := p.page(historyOf(hour(-6), end) + "&channel=north-developer")
	for _, row := range []string{
		`1 h 0 min</td><td data-label="Cause">computer off, outside any session</td><td data-label="In a session">none</td>`,
		`30 min</td><td data-label="Cause">outside any session</td><td data-label="In a session">none</td>`,
		`45 min</td><td data-label="Cause">port lost</td><td data-label="In a session">15 min</td>`,
		`30 min</td><td data-label="Cause">probe silent, outside any session</td><td data-label="In a session">none</td>`,
		"no session is on record for this time",
		`<title>computer off, outside any session</title>`,
	} {
		require.Contains(t, text, row)
	}
	p.Remember(minutely)
	require.NotContains(t, evening(t).page("/rooms/north/history"), "outside any session", "without a record book nobody can tell")
}

// A run of suspect samples for which a gap was recorded on its way counts once.
func TestNoTimeIsInTwoGapsOfOneChannel(t *testing.T) {
	end := viewtest.Evening()
	minutes := func(m int) time.Time { return end.Add(time.Duration(m) * time.Minute) }
	p := pastPages(t, &viewtest.Past{Evenings: []report.Session{{Room: "north", Begun: minutes(-90), Ended: end}}})
	p.Remember(func(web.SeriesQuery) (web.Series, error) {
		var s web.Series
		for m := -50; m < 0; m += 5 {
			s.Points = append(s.Points, web.SeriesPoint{At: minutes(m), Suspect: true})
		}
		s.Gaps = []web.SeriesGap{{From: minutes(-20), Cause: "looks wrong"}, {From: minutes(-43), To: minutes(-31), Cause: "flat line"}}
		return s, nil
	})
	var lasted []string
	for _, m := range regexp.MustCompile(`data-label="Lasted">(\d+) min`).FindAllStringSubmatch(
		p.page(historyOf(minutes(-60), end)+"&channel=north-developer"), -1) {
		lasted = append(lasted, m[1])
	}
	require.Equal(t, []string{"7", "12", "11", "20"}, lasted)
}

func TestGapsAreToldApartByTheirKindAndNotByTheirWords(t *testing.T) {
	end := viewtest.Evening()
	minutes := func(m int) time.Time { return end.Add(time.Duration(m) * time.Minute) }
	p := pastPages(t, &viewtest.Past{Evenings: []report.Session{{Room: "north", Begun: minutes(-90), Ended: end}}})
	p.Remember(func(web.SeriesQuery) (web.Series, error) {
		return web.Series{Gaps: []web.SeriesGap{{From: minutes(-60), To: minutes(-40), Cause: "suspect"}},
			Points: []web.SeriesPoint{{At: minutes(-40), Suspect: true}, {At: minutes(-30), Suspect: true}, {At: minutes(-20), Min: 20, Mean: 20,
				Max: 20, Count: 1}}}, nil
	})
	require.Equal(t, 2, strings.Count(p.page(historyOf(minutes(-60), end)+"&channel=north-developer"),
		`20 min</td><td data-label="Cause">suspect</td>`),
		"what was recorded in the same word is no part of the run of suspect samples")
}
