package dashboard_test

import (
	"strings"
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"wetside/dashboard/web"
)

func TestImportedValuesAreCalledSoBesideTheChartAndInIt(t *testing.T) {
	p := evening(t)
	p.Remember(func(q web.SeriesQuery) (web.Series, error) {
		s, err := minutely(q)
		for i := range s.Points {
			s.Points[i].Imported = s.Points[i].At.Sub(q.From) < time.Hour
		}
		return s, err
	})
	text := p.page("/rooms/north/history?channel=north-developer")
	const said = "Hollow line: imported from a file, not measured by a probe of this room: Developer tray, from "
	require.Contains(t, text, ` `+said)
	require.Equal(t, 3, strings.Count(text, said), "beside the chart, and in the description of both its sizes")
	require.Equal(t, 3, strings.Count(text, `class="chart-apart"`), "in both sizes and in the words beside them")
	require.Contains(t, text, `"apart":[[0,59]]`, "who reads values off is told as well")
	p.Remember(minutely)
	require.NotContains(t, p.page("/rooms/north/history"), "Hollow line")
}
