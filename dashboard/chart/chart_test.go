package chart_test

import (
	"bytes"
	"encoding/xml"
	"errors"
	"fmt"
	"io"
	"math"
	"os"
	"strconv"
	"strings"
	"testing"
	"time"

	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"wetside/dashboard/chart"
)

// label is a text of a drawing with the place that it takes at most.
type label struct {
	words      string
	x1, x2     float64
	top, below float64
}

// drawing is what a test reads back of a picture.
type drawing struct {
	labels  []label
	classes map[string]int
	title   string
}

// read parses a picture strictly and measures its texts with the widest usual
// glyph of a bold sans, 0.62 of the size on average.
func read(t require.TestingT, svg string) drawing {
	got := drawing{classes: map[string]int{}}
	d := xml.NewDecoder(strings.NewReader(svg))
	size := ""
	for {
		token, err := d.Token()
		if errors.Is(err, io.EOF) {
			return got
		}
		require.NoError(t, err)
		start, ok := token.(xml.StartElement)
		if !ok {
			continue
		}
		a := map[string]string{}
		for _, attr := range start.Attr {
			a[attr.Name.Local] = attr.Value
			require.NotContains(t, attr.Value, "NaN")
			require.NotContains(t, attr.Value, "Inf")
		}
		got.classes[a["class"]]++
		if start.Name.Local == "svg" {
			size = a["font-size"] // of every text in it
		}
		a["font-size"] = size
		switch start.Name.Local {
		case "text":
			var words string
			require.NoError(t, d.DecodeElement(&words, &start))
			got.labels = append(got.labels, measure(t, a, words))
		case "title":
			var words string
			require.NoError(t, d.DecodeElement(&words, &start))
			got.title += words + "\n"
		}
	}
}

func measure(t require.TestingT, a map[string]string, words string) label {
	x, y, size := real(t, a["x"]), real(t, a["y"]), real(t, a["font-size"])
	width := 0.62 * size * float64(len([]rune(words)))
	from := map[string]float64{"": x, "middle": x - width/2, "end": x - width}[a["text-anchor"]]
	return label{words, from, from + width, y - size, y + size/4}
}

func real(t require.TestingT, text string) float64 {
	v, err := strconv.ParseFloat(text, 64)
	require.NoError(t, err)
	return v
}

func vienna(t testing.TB) *time.Location {
	t.Helper()
	zone, err := time.LoadLocation("Europe/Vienna")
	require.NoError(t, err)
	return zone
}

func evening(t testing.TB) chart.Chart {
	from := time.Date(2026, 1, 15, 18, 0, 0, 0, vienna(t))
	c := chart.Chart{ID: "c", Title: "Developer <tray>", Description: "An invented evening.", Unit: "°C", From: from,
		To: from.Add(4 * time.Hour), Zone: vienna(t),
		Width: 1120, Height: 420, Step: 0.1, Wanted: []chart.Band{{Low: 18, High: 22}}, Empty: "Nothing was measured in this period",
		Line: chart.Line{Gaps: []chart.Gap{{From: from.Add(time.Hour), To: from.Add(2 * time.Hour), Cause: "line gone"}}}}
	for m := range 240 {
		if m < 60 || m >= 120 {
			v := 21 - float64(m)/100
			c.Line.Points = append(c.Line.Points, chart.Point{At: from.Add(time.Duration(m) * time.Minute), Min: v - 0.2, Mean: v,
				Max: v + 0.2})
		}
	}
	return c
}

func draw(t require.TestingT, c chart.Chart) string {
	var out bytes.Buffer
	require.NoError(t, c.WriteSVG(&out))
	return out.String()
}

func TestAChartBreaksItsLineAtAGapAndNamesTheCause(t *testing.T) {
	got := read(t, draw(t, evening(t)))
	require.Equal(t, 2, got.classes["chart-line"])
	require.Equal(t, 2, got.classes["chart-envelope"])
	require.Equal(t, 1, got.classes["chart-gap"])
	require.Equal(t, 1, got.classes["chart-band"])
	require.Equal(t, 2, got.classes["chart-limit"])
	require.Contains(t, got.title, "Developer <tray>")
	require.Contains(t, got.title, "line gone")
	var words []string
	for _, l := range got.labels {
		words = append(words, l.words)
	}
	require.Subset(t, words, []string{"°C", "18:00", "19:00", "22:00", "18", "22", "CET", "line gone"})
}

func TestAGapThatLastsReachesTheEnd(t *testing.T) {
	c := evening(t)
	c.Line.Gaps = []chart.Gap{{From: c.From.Add(3 * time.Hour), Cause: "silent"}}
	require.Contains(t, draw(t, c), `x="845" y="22" width="261"`) // three quarters of the plot, which runs from 62 to 1106
}

func TestAChartWithoutPointsSaysSo(t *testing.T) {
	c := evening(t)
	c.Line = chart.Line{}
	svg := draw(t, c)
	require.Contains(t, svg, "Nothing was measured in this period")
	require.Zero(t, read(t, svg).classes["chart-line"])
}

func TestASinglePointIsADot(t *testing.T) {
	c := evening(t)
	c.Line.Points = c.Line.Points[:1]
	require.Equal(t, 1, read(t, draw(t, c)).classes["chart-dot"])
}

func TestWhatCanNotBeDrawnIsRefused(t *testing.T) {
	c := evening(t)
	c.To = c.From
	require.ErrorIs(t, c.WriteSVG(io.Discard), chart.ErrTimes)
	c = evening(t)
	c.Width = 10
	require.ErrorIs(t, c.WriteSVG(io.Discard), chart.ErrSize)
}

func TestTicksAreRoundLocalTimesInEverySpan(t *testing.T) {
	for span, want := range map[time.Duration]string{
		time.Minute: "18:00:10", time.Hour: "18:10", 6 * time.Hour: "19:00", 24 * time.Hour: "21:00", 7 * 24 * time.Hour: "17 Jan",
		16 * 7 * 24 * time.Hour: "29 Jan", 365 * 24 * time.Hour: "Jul", 10 * 365 * 24 * time.Hour: "2030",
	} {
		c := evening(t)
		c.Line, c.To = chart.Line{}, c.From.Add(span)
		require.Contains(t, draw(t, c), ">"+want+"<", span)
	}
}

func TestTicksKeepToTheLocalClockWhenItIsChanged(t *testing.T) {
	c := evening(t)
	c.Line = chart.Line{}
	c.From = time.Date(2026, 3, 28, 12, 0, 0, 0, vienna(t)) // the clock goes forward in that night
	c.To = c.From.Add(36 * time.Hour)
	svg := draw(t, c)
	require.Contains(t, svg, "CET, CEST")
	require.Contains(t, svg, ">06:00<")
	require.NotContains(t, svg, ">07:00<")
}

func TestNoLabelLeavesTheCanvasOrCoversAnother(t *testing.T) {
	zone := vienna(t)
	rapid.Check(t, func(t *rapid.T) {
		from := time.Unix(rapid.Int64Range(0, 4_000_000_000).Draw(t, "from"), 0)
		c := chart.Chart{ID: "c", Title: "t", Description: "d", Unit: rapid.SampledFrom([]string{"°C", "m³/h", "in. w.g.", ""}).Draw(t,
			"unit"), Zone: zone, From: from,
			To:    from.Add(time.Duration(rapid.Int64Range(int64(time.Minute), int64(11*365*24*time.Hour)).Draw(t, "span"))),
			Width: rapid.SampledFrom([]float64{200, 420, 900, 1120}).Draw(t, "width"), Height: rapid.SampledFrom([]float64{120, 340, 420}).Draw(t,
				"height"),
			Step: rapid.SampledFrom([]float64{0.001, 0.1, 1}).Draw(t, "step"), Empty: "Nothing"}
		low := rapid.Float64Range(-50, 20000).Draw(t, "value")
		for i := range rapid.IntRange(0, 30).Draw(t, "points") {
			v := low + rapid.Float64Range(0, 5000).Draw(t, "more")
			c.Line.Points = append(c.Line.Points, chart.Point{At: from.Add(c.To.Sub(from) / 30 * time.Duration(i)), Min: v, Mean: v,
				Max: v + 1})
		}
		at := rapid.Float64Range(0, 1).Draw(t, "gap")
		c.Line.Gaps = []chart.Gap{{From: from.Add(time.Duration(at * float64(c.To.Sub(from)))),
			Cause: "the plug of the bench cable was pulled"}}
		got := read(t, draw(t, c))
		require.GreaterOrEqual(t, len(got.labels), 3)
		requireClear(t, c, got.labels)
	})
}

// requireClear requires of the labels of an axis that they stay on the canvas and clear of each other.
func requireClear(t require.TestingT, c chart.Chart, labels []label) {
	last := map[float64]float64{}
	for _, l := range labels {
		require.GreaterOrEqual(t, l.x1, 0.0, l.words)
		require.LessOrEqual(t, l.x2, c.Width+0.1, l.words)
		require.GreaterOrEqual(t, l.top, 0.0, l.words)
		require.LessOrEqual(t, l.below, c.Height+0.1, l.words)
		if end, row := last[l.top]; row {
			require.GreaterOrEqual(t, l.x1, end, "%s covers its neighbour", l.words)
		}
		last[l.top] = math.Max(last[l.top], l.x2)
	}
}

func FuzzChart(f *testing.F) {
	f.Add(int64(1768500000), int64(3600), 20.0, 21.0, "line gone")
	f.Add(int64(0), int64(1), math.Inf(1), math.NaN(), "<&>\x00")
	f.Fuzz(func(t *testing.T, from, seconds int64, a, b float64, cause string) {
		start := time.Unix(from%4_000_000_000, 0)
		c := chart.Chart{ID: "c", Title: cause, From: start, To: start.Add(time.Duration(seconds%1_000_000_000) * time.Second), Width: 420,
			Height: 340, Step: 0.1,
			Line: chart.Line{Points: []chart.Point{{At: start, Min: a, Mean: a, Max: a}, {At: start.Add(time.Second), Min: b, Mean: b,
				Max: b}}, Gaps: []chart.Gap{{From: start, Cause: cause}}},
			Alarms: chart.Lane{Name: "Alarms", Many: many, Spans: []chart.Span{{From: start, Title: cause}, {From: start, Short: cause}}}}
		var out bytes.Buffer
		if err := c.WriteSVG(&out); err == nil {
			read(t, out.String())
		}
	})
}

func BenchmarkYear(b *testing.B) {
	from := time.Date(2025, 1, 1, 0, 0, 0, 0, time.UTC)
	c := chart.Chart{ID: "c", From: from, To: from.AddDate(1, 0, 0), Width: 1120, Height: 420, Step: 0.1}
	for i := range 600 {
		v := 20 + math.Sin(float64(i)/9)
		c.Line.Points = append(c.Line.Points, chart.Point{At: from.Add(time.Duration(i) * 14 * time.Hour), Min: v - 1, Mean: v,
			Max: v + 1})
	}
	for b.Loop() {
		require.NoError(b, c.WriteSVG(io.Discard))
	}
}

func ExampleChart_WriteSVG() {
	from := time.Date(2026, 1, 15, 18, 0, 0, 0, time.UTC)
	c := chart.Chart{ID: "tray", Title: "Developer tray", Unit: "°C", From: from, To: from.Add(time.Hour), Width: 420, Height: 340, Step: 0.1,
		Line: chart.Line{Points: []chart.Point{{At: from, Min: 20, Mean: 20, Max: 20}}}}
	if err := c.WriteSVG(os.Stdout); err != nil {
		fmt.Println(err)
	}
}

func TestAnAxisIsWrittenWithTheSignOfThePlace(t *testing.T) {
	from := time.Date(2026, 1, 15, 19, 0, 0, 0, time.UTC)
	for comma, want := range map[bool]string{false: ">20.5<", true: ">20,5<"} {
		var out bytes.Buffer
		c := chart.Chart{ID: "a", Unit: "°C", From: from, To: from.Add(time.Hour), Zone: time.UTC, Width: 420, Height: 300, Step: 0.1,
			DecimalComma: comma,
			Line: chart.Line{Points: []chart.Point{{At: from, Min: 20, Mean: 20, Max: 20}, {At: from.Add(time.Hour), Min: 20.5, Mean: 20.5,
				Max: 20.5}}}}
		require.NoError(t, c.WriteSVG(&out))
		require.Contains(t, out.String(), want)
	}
}
