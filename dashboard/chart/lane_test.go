package chart_test

import (
	"fmt"
	"math"
	"regexp"
	"strings"
	"testing"
	"time"

	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"wetside/dashboard/chart"
)

func many(n int) string { return fmt.Sprintf("%d together", n) }

func TestSessionsAndAlarmsStandOnTheAxisOfTheReadings(t *testing.T) {
	c := evening(t)
	at := func(minutes int) time.Time { return c.From.Add(time.Duration(minutes) * time.Minute) }
	c.Sessions = chart.Lane{Name: "Sessions", Many: many, Spans: []chart.Span{{From: at(60), To: at(180), Short: "Class",
		Title: "Class, 19:00 to 21:00"}}}
	c.Alarms = chart.Lane{Name: "Alarms", Many: many, Spans: []chart.Span{
		{From: at(90), Seen: at(96), To: at(120), Title: "The air does not move"},
		{From: at(95), Title: "nobody answered"},
	}}
	svg := draw(t, c)
	got := read(t, svg)
	require.Equal(t, 1, got.classes["chart-session"])
	require.Equal(t, 2, got.classes["chart-edge"])
	require.Equal(t, 2, got.classes["chart-alarm"], "alarms that overlap stand in rows of their own")
	require.Equal(t, 2, got.classes["chart-unseen"])
	require.Equal(t, 2, got.classes["chart-stem"])
	require.Equal(t, 1, got.classes["chart-tick"], "only one was answered")
	for _, words := range []string{"Class, 19:00 to 21:00", "The air does not move", "nobody answered"} {
		require.Contains(t, got.title, words)
	}
	// The plot runs from the widest label, "Sessions" with 8 letters of 8.06 and 9 beside it, to 1106.
	x := func(minutes float64) string {
		left := 8*0.62*13 + 9
		return fmt.Sprintf(`x="%g"`, math.Round((left+minutes/240*(1106-left))*10)/10)
	}
	require.Contains(t, svg, `class="chart-session" `+x(60))
	require.Contains(t, svg, `class="chart-unseen" `+x(90))
}

func TestSpansThatLieCloseAreDrawnAsOneAndCounted(t *testing.T) {
	c := evening(t)
	c.From, c.To = c.From.AddDate(-1, 0, 0), c.From
	c.Alarms = chart.Lane{Name: "Alarms", Many: many}
	for i := range 5000 {
		c.Alarms.Spans = append(c.Alarms.Spans, chart.Span{From: c.From.Add(time.Duration(i) * time.Hour),
			To: c.From.Add(time.Duration(i)*time.Hour + time.Minute), Title: "one"})
	}
	svg := draw(t, c)
	got := read(t, svg)
	require.Less(t, got.classes["chart-alarm"], 300)
	require.Contains(t, got.title, " together")
	require.Less(t, len(svg), 60_000)
}

func TestDrawingsOfOneMarginShareTheirAxisOfTime(t *testing.T) {
	flow, tray := evening(t), evening(t)
	for i := range flow.Line.Points {
		p := &flow.Line.Points[i]
		p.Min, p.Mean, p.Max = p.Min*1e7, p.Mean*1e7, p.Max*1e7
	}
	require.Greater(t, flow.Margin(), tray.Margin(), "its values are longer")
	tray.Left, tray.TimeBelow = flow.Margin(), true
	require.InDelta(t, flow.Margin(), tray.Margin(), 1e-9)
	svg := draw(t, tray)
	require.NotContains(t, svg, ">19:00<", "the drawing below says the time")
	require.NotContains(t, svg, ">CET<")
	require.Contains(t, draw(t, flow), ">19:00<")
}

func TestABandHoldsOverItsTimeAndMayHaveNoUpperEnd(t *testing.T) {
	c := evening(t)
	half := c.From.Add(2 * time.Hour)
	c.Wanted = []chart.Band{{Low: 18, High: math.Inf(1), To: half}, {Low: 19, High: 21, From: half}}
	got := read(t, draw(t, c))
	require.Equal(t, 2, got.classes["chart-band"])
	require.Equal(t, 3, got.classes["chart-limit"])
}

func TestThinningHidesNoSpike(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		from := time.Date(2026, 1, 15, 18, 0, 0, 0, time.UTC)
		n := rapid.IntRange(1200, 3000).Draw(t, "points")
		spike := rapid.IntRange(0, n-1).Draw(t, "spike")
		c := chart.Chart{ID: "c", From: from, To: from.Add(4 * time.Hour), Width: 420, Height: 340, Step: 0.1}
		for i := range n {
			p := chart.Point{At: from.Add(c.To.Sub(from) / time.Duration(n) * time.Duration(i)), Min: 20, Mean: 20, Max: 20, Count: 1}
			if i == spike {
				p.Max, p.Mean = 90, 90
			}
			c.Line.Points = append(c.Line.Points, p)
		}
		svg := draw(t, c)
		require.Equal(t, 1, read(t, svg).classes["chart-envelope"])
		require.Less(t, len(svg), 12_000)
		// The ticks are 20 to 100 and the plot runs from 300 up to 22: 90 stands 278*70/80 above 20.
		_, envelope, _ := strings.Cut(svg, `chart-envelope" d="`)
		envelope, _, _ = strings.Cut(envelope, `"/>`)
		require.Regexp(t, `-243\.[23]|^M[\d.]+ 56\.8`, envelope, "the spike is drawn")
	})
}

// number is one of a path, by the grammar of SVG 2 (9.3.9): what cannot belong to it parts it from the next.
var number = regexp.MustCompile(`-?(?:\d+(?:\.\d+)?|\.\d+)`)

func TestALineIsShortAndGoesThroughItsPoints(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		from := time.Date(2026, 1, 15, 18, 0, 0, 0, time.UTC)
		c := chart.Chart{ID: "c", From: from, To: from.Add(4 * time.Hour), Width: 900, Height: 380, Step: 0.1}
		means := rapid.SliceOfN(rapid.Float64Range(20, 100), 2, 60).Draw(t, "means")
		means[0], means[1] = 20, 100 // the ticks are 20 to 100
		for i, v := range means {
			at := from.Add(c.To.Sub(from) / time.Duration(len(means)-1) * time.Duration(i))
			c.Line.Points = append(c.Line.Points, chart.Point{At: at, Min: v, Mean: v, Max: v, Count: 1})
		}
		svg := draw(t, c)
		_, plot, _ := strings.Cut(svg, `data-plot="`)
		box := number.FindAllString(plot[:strings.Index(plot, `"`)], -1) // left, top, right, bottom
		_, line, _ := strings.Cut(svg, `chart-line" d="`)
		line = line[:strings.Index(line, `"`)]
		require.NotRegexp(t, `\b0\.|[ ]-`, line, "nothing that a reader of paths does without")
		x, y := 0.0, 0.0
		found := number.FindAllString(line, -1)
		require.Len(t, found, 2*len(means))
		for i, v := range means {
			x, y = x+real(t, found[2*i]), y+real(t, found[2*i+1])
			share := float64(i) / float64(len(means)-1)
			require.InDelta(t, real(t, box[0])+share*(real(t, box[2])-real(t, box[0])), x, 0.2)
			require.InDelta(t, real(t, box[3])-(v-20)/80*(real(t, box[3])-real(t, box[1])), y, 0.2)
		}
	})
}
