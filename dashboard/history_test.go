package dashboard_test

import (
	"errors"
	"net/http"
	"net/http/httptest"
	"net/url"
	"regexp"
	"strings"
	"testing"
	"time"

	"github.com/stretchr/testify/require"
	"go.uber.org/zap"

	"wetside/dashboard"
	"wetside/dashboard/formtest"
	"wetside/dashboard/viewtest"
	"wetside/dashboard/web"
)

// minutely is an invented series: a sample a minute that falls from 22 °C, an
// hour's gap in the middle and a suspect stretch near the end.
func minutely(q web.SeriesQuery) (web.Series, error) {
	gap := web.SeriesGap{From: q.From.Add(2 * time.Hour), To: q.From.Add(3 * time.Hour), Cause: "line gone"}
	s := web.Series{Gaps: []web.SeriesGap{gap, {From: q.To.Add(-10 * time.Minute), Cause: "silent"}}}
	for at := q.From; at.Before(q.To.Add(-10 * time.Minute)); at = at.Add(time.Minute) {
		if at.Before(gap.From) || !at.Before(gap.To) {
			v := 22 - at.Sub(q.From).Hours()/2
			suspect := at.After(q.From.Add(4*time.Hour)) && at.Before(q.From.Add(4*time.Hour+20*time.Minute))
			s.Points = append(s.Points, web.SeriesPoint{At: at, Min: v - 0.1, Mean: v, Max: v + 0.1, Count: 60, Suspect: suspect})
		}
	}
	return s, nil
}

func TestHistoryIsDrawnWithItsGapsAndTheirCauses(t *testing.T) {
	p := evening(t)
	var asked web.SeriesQuery
	p.Remember(func(q web.SeriesQuery) (web.Series, error) { asked = q; return minutely(q) })
	text := p.page("/rooms/north/history?channel=north-developer")
	require.Equal(t, p.Clock.Now().Wall, asked.To)
	require.Equal(t, 6*time.Hour, asked.To.Sub(asked.From))
	require.EqualValues(t, "north-developer", asked.Channel)
	for _, words := range []string{`role="img"`, "<title id=\"wide-1-title\">Developer tray</title>", "port lost", "suspect", "silent",
		"ongoing", "1 h 0 min",
		"lowest 19.0 °C, highest 22.1 °C", "Earlier", "CET"} {
		require.Contains(t, text, words)
	}
	require.NotContains(t, text, ">Later<", "there is nothing later than now")
	wide, _, _ := strings.Cut(text, `class="narrow"`)
	require.Equal(t, 3, strings.Count(wide, `class="chart-line"`), "the line breaks at each gap")
}

// BenchmarkYearPage draws the page of a year with 250 evenings and 3 000 alarms; what
// it takes to read the year is measured beside the history.
// Two cores at rest: 53 to 58 ms.
func BenchmarkYearPage(b *testing.B) {
	past := yearOfEvenings()
	stage, err := viewtest.NewStage()
	require.NoError(b, err)
	stage.Publish()
	stage.Remember(nightlyOff)
	server, err := dashboard.New(dashboard.Options{View: stage, Past: past, Log: zap.NewNop(), Clock: stage.Clock})
	require.NoError(b, err)
	defer server.Close()
	for b.Loop() {
		out := httptest.NewRecorder()
		server.ServeHTTP(out, httptest.NewRequest(http.MethodGet, "/rooms/north/history?from=2025-01-15T18:00:00Z&to=2026-01-15T18:00:00Z", nil))
		require.Equal(b, http.StatusOK, out.Code)
	}
}

func TestHistoryLinksLeadToTheNeighbours(t *testing.T) {
	p := evening(t)
	p.Remember(minutely)
	text := p.page("/rooms/north/history?channel=north-fixer&from=2026-01-10T18:00:00%2B01:00&to=2026-01-11T18:00:00%2B01:00&look=red")
	later := regexp.MustCompile(`href="([^"]*)" rel="next"`).FindStringSubmatch(text)
	require.Len(t, later, 2)
	u, err := url.Parse(later[1])
	require.NoError(t, err)
	require.Equal(t, "channel=north-fixer&from=2026-01-11T18%3A00%3A00%2B01%3A00&look=red&to=2026-01-12T18%3A00%3A00%2B01%3A00",
		u.Query().Encode())
	require.Contains(t, text, "Fixer tray")
	require.Regexp(t, `aria-current="true">Day<`, text)
	require.Contains(t, p.page("/rooms/north/"+u.String()), `data-look="red"`)
}

func TestHistoryThatCanNotBeReadSaysSo(t *testing.T) {
	p := evening(t)
	p.Remember(func(web.SeriesQuery) (web.Series, error) {
		return web.Series{}, errors.New("the history file is locked by another program")
	})
	out := p.get("/rooms/north/history")
	require.Equal(t, http.StatusServiceUnavailable, out.Code)
	require.Contains(t, out.Body.String(), "locked by another program")
	formtest.Whole(t, out.Body.String())
}

func TestHistoryWithoutASampleSaysSo(t *testing.T) {
	text := evening(t).page("/rooms/north/history?channel=north-duct")
	require.Contains(t, text, "Nothing was measured in this period")
	require.Contains(t, text, "No gaps in this period.")
	require.NotContains(t, text, "chart-line")
}

func TestTheRepeatedHourOfAutumnIsTold(t *testing.T) {
	p := evening(t)
	p.Remember(minutely)
	text := p.page("/rooms/north/history?channel=north-developer&from=2025-10-25T22:00:00Z&to=2025-10-26T04:00:00Z")
	require.Contains(t, text, "Sun 26 Oct 02:30 CEST")
	require.Contains(t, text, "Sun 26 Oct 02:30 CET")
	require.Contains(t, text, "CEST, CET")
}
