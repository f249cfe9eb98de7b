package dashboard_test

import (
	"fmt"
	"regexp"
	"slices"
	"strings"
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"wetside/chem/ledger"
	"wetside/dashboard/report"
	"wetside/dashboard/viewtest"
	"wetside/dashboard/web"
	"wetside/sensors"
)

// A tray stands in every class: its passport leads through all that it has seen, part by part.
func TestThePassportOfATrayOfManyYearsIsTurnedPageByPage(t *testing.T) {
	s := stocked(t)
	s.does(ledger.ContainerNamed{Container: "Fixer tray", Vessel: ledger.Tray, Capacity: 3000, Bath: "north-fixer"},
		mixed("F1", "Fixer tray", 100, 900))
	for range 230 {
		s.does(ledger.SheetsUsed{Containers: []string{"Fixer tray"}, Material: ledger.ResinCoated, Count: 1, SheetArea: ledger.EightByTen})
	}
	entries := regexp.MustCompile(`href="/shelf/entry/(\d+)"`)
	before := regexp.MustCompile(`href="(/shelf/Fixer%20tray\?before=\d+)">Entries before these`)
	var told []string
	href, pages := "/shelf/Fixer%20tray", 0
	for ; href != ""; pages++ {
		text := s.page(href)
		require.Less(t, len(text), 100_000)
		for _, found := range entries.FindAllStringSubmatch(text, -1) {
			told = append(told, found[1])
		}
		if href = ""; before.MatchString(text) {
			href = before.FindStringSubmatch(text)[1]
		}
	}
	var all []string
	b := s.book.Book()
	for _, e := range slices.Backward(b.Story("Fixer tray")) {
		all = append(all, fmt.Sprint(e.Number))
	}
	require.Equal(t, all, told, "every entry once, the newest first")
	require.Equal(t, 3, pages)
}

// Two sessions may overlap in the book; what of a gap lies in both lies in a session once.
func TestAGapOfManyIsCountedOnceHoweverManySessionsItTouches(t *testing.T) {
	end := viewtest.Evening()
	minutes := func(m int) time.Time { return end.Add(time.Duration(m) * time.Minute) }
	p := pastPages(t, &viewtest.Past{Evenings: []report.Session{{Room: "north", Begun: minutes(-600), Ended: minutes(-500)},
		{Room: "north", Begun: minutes(-550), Ended: minutes(-520)}, {Room: "north", Begun: minutes(-505), Ended: minutes(-450)}}})
	p.Remember(func(web.SeriesQuery) (web.Series, error) {
		var gaps []web.SeriesGap
		for m := -700; m < -400; m += 3 {
			gaps = append(gaps, web.SeriesGap{From: minutes(m), To: minutes(m + 1), Cause: string(sensors.LineLost)})
		}
		return web.Series{Gaps: append(gaps, web.SeriesGap{From: minutes(-395), To: minutes(-390), Cause: string(sensors.LineLost)})}, nil
	})
	text := p.page(historyOf(minutes(-720), end) + "&channel=north-developer&channel=north-fixer")
	require.Equal(t, 30, strings.Count(text, "port lost, outside any session</td>")+strings.Count(text, "port lost</td>"))
	require.Contains(t, text, "142 more", "71 of each channel")
	p.Remember(func(web.SeriesQuery) (web.Series, error) {
		return web.Series{Gaps: []web.SeriesGap{{From: minutes(-610), To: minutes(-440), Cause: string(sensors.LineLost)}}}, nil
	})
	require.Contains(t, p.page(historyOf(minutes(-720), end)+"&channel=north-developer"),
		`port lost</td><td data-label="In a session">2 h 30 min`)
}
