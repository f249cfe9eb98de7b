package cards

import (
	"bytes"
	"fmt"
	"html/template"
	"math"
	"slices"
	"sort"
	"time"

	"wetside/dashboard/chart"
	"wetside/dashboard/web"
	"wetside/rules/coverage"
	"wetside/sensors"
)

const (
	// SeriesWithin is how long the history may take to answer.
	SeriesWithin = 10 * time.Second
	// ChartPoints is about how many steps a drawing has; several lines share twice as many.
	ChartPoints = 400
)

// Evening is how much of a channel is shown where nobody asks for another time.
const Evening = 6 * time.Hour

// ChannelChart draws channels over a time.
type ChannelChart struct {
	Figures
	Span coverage.Span // the time that is shown
	// Sessions are the times in which readings were required, in order and apart; nil where nobody can tell.
	Sessions []coverage.Span
}

// Chart turns a series into people's units. A run of suspect steps is a gap: no
// good sample lies in it.
func (d ChannelChart) Chart(ch sensors.Channel, series web.Series) chart.Chart {
	unit := d.Unit(ch.Dimension)
	c := chart.Chart{Title: ch.Name, Unit: unit.Label(), From: d.Span.From, To: d.Span.To, Zone: d.Zone,
		DecimalComma: d.DecimalComma,
		Step:         unit.FromBase(ch.Resolution) - unit.FromBase(0), Empty: d.nothing()}
	line := &c.Line
	for _, g := range series.Gaps {
		line.Gaps = append(line.Gaps, d.recordedGap(g))
	}
	byBeginning := func(a, b chart.Gap) int { return a.From.Compare(b.From) }
	slices.SortStableFunc(line.Gaps, byBeginning)
	recorded, runs := line.Gaps, []chart.Gap(nil)
	for i, p := range series.Points {
		if !p.Suspect {
			line.Points = append(line.Points, chart.Point{At: p.At, Min: unit.FromBase(p.Min), Mean: unit.FromBase(p.Mean),
				Max: unit.FromBase(p.Max), Count: p.Count, Apart: p.Imported})
			continue
		}
		end := d.Span.To
		if i+1 < len(series.Points) {
			end = series.Points[i+1].At
		}
		runs = joinSuspect(runs, chart.Gap{From: p.At, To: end, Kind: suspectRun, Cause: "suspect"})
	}
	for _, run := range runs {
		line.Gaps = append(line.Gaps, unexplained(run, recorded)...)
	}
	slices.SortStableFunc(line.Gaps, byBeginning)
	for i, g := range line.Gaps {
		if d.Sessions != nil && d.Attended(g) == 0 {
			line.Gaps[i].Cause = d.unattended(g)
		}
	}
	c.Description = d.describe(ch, series)
	return c
}

// unexplained are the parts of a run of suspect samples that no gap was recorded for, of those by their beginning.
func unexplained(run chart.Gap, recorded []chart.Gap) (parts []chart.Gap) {
	for _, r := range recorded {
		if r.To.IsZero() {
			r.To = run.To
		}
		if !r.To.After(run.From) || !r.From.Before(run.To) {
			continue
		}
		if part := run; r.From.After(run.From) {
			part.To = r.From
			parts = append(parts, part)
		}
		run.From = r.To
	}
	if run.From.Before(run.To) {
		parts = append(parts, run)
	}
	return parts
}

func joinSuspect(gaps []chart.Gap, g chart.Gap) []chart.Gap {
	if n := len(gaps); n > 0 && gaps[n-1].To.Equal(g.From) {
		gaps[n-1].To = g.To
		return gaps
	}
	return append(gaps, g)
}

// Drawn is a chart as a drawing within a page.
func Drawn(c chart.Chart) (template.HTML, error) {
	var out bytes.Buffer
	if err := c.WriteSVG(&out); err != nil {
		return "", fmt.Errorf("drawing the chart: %w", err)
	}
	return template.HTML(out.String()), nil //nolint:gosec // the chart escapes all text
}

// Attended is how much of a gap lies in sessions.
func (d ChannelChart) Attended(g chart.Gap) (sum time.Duration) {
	if g.To.IsZero() {
		g.To = d.Span.To
	}
	first := sort.Search(len(d.Sessions), func(i int) bool { return d.Sessions[i].To.After(g.From) })
	for _, s := range d.Sessions[first:] {
		if !s.From.Before(g.To) {
			break
		}
		sum += coverage.Span{From: g.From, To: g.To}.Within(s).Length()
	}
	return sum
}

func (d ChannelChart) recordedGap(g web.SeriesGap) chart.Gap {
	cause := coverage.Cause(g.Cause)
	return chart.Gap{From: g.From, To: g.To, Kind: cause, Cause: d.Text(coverage.Told(cause))}
}

// suspectRun is the kind of a gap in which there are samples, but none that is good.
const suspectRun = "suspect run"

// unattended is the cause of a gap of which no part lies in a session.
func (d ChannelChart) unattended(g chart.Gap) string {
	if g.Kind == coverage.NotRecorded {
		return "outside any session"
	}
	return fmt.Sprintf("%s, outside any session", g.Cause)
}

// nothing says why there is no value: a time that lies ahead is no time without readings.
func (d ChannelChart) nothing() string {
	if d.Span.From.After(d.Now.Wall) {
		return "This period is in the future"
	}
	return "Nothing was measured in this period"
}

// describe says the series in a sentence.
func (d ChannelChart) describe(ch sensors.Channel, series web.Series) string {
	low, high := math.Inf(1), math.Inf(-1)
	for _, p := range series.Points {
		if !p.Suspect {
			low, high = min(low, p.Min), max(high, p.Max)
		}
	}
	if low > high {
		return d.nothing()
	}
	return fmt.Sprintf("From %s to %s: lowest %s, highest %s, %s.", d.Moment(d.Span.From), d.Moment(d.Span.To),
		d.WithUnit(ch.Dimension, low, ch.Resolution),
		d.WithUnit(ch.Dimension, high, ch.Resolution), web.Count(len(series.Gaps), "%d gap", "%d gaps"))
}

// AirFlow stands in the place of a channel for the flow of air, which is worked out
// from the probe in the duct. No channel of a configuration can have this name.
const AirFlow sensors.ChannelID = "air:flow"

// AirFlow is the flow of air as a channel like the others.
func (f Figures) AirFlow() sensors.Channel {
	return sensors.Channel{ID: AirFlow, Name: "Airflow", Kind: sensors.VolumeFlow,
		Traits: sensors.Traits{Dimension: FlowDimension, Resolution: 1}}
}
