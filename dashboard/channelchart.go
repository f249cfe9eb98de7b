package dashboard

import (
	"bytes"
	"fmt"
	"html/template"
	"math"
	"net/url"
	"slices"
	"time"

	"wetside/dashboard/chart"
	"wetside/dashboard/locale"
	"wetside/rules"
	"wetside/rules/coverage"
	"wetside/sensors"
)

const (
	// seriesWithin is how long the history may take to answer.
	seriesWithin = 10 * time.Second
	// chartPoints is about how many steps a drawing has; several lines share twice as many.
	chartPoints = 400
)

// evening is how much of a channel is shown where nobody asks for another time.
const evening = 6 * time.Hour

// span is the time that a history page shows.
type span struct{ from, to time.Time }

func (sp span) length() time.Duration { return sp.to.Sub(sp.from) }

// channelChart draws channels over a time.
type channelChart struct {
	figures
	span span
	// sessions are the times in which readings were required, nil where nobody can tell.
	sessions []span
}

// chart turns a series into people's units. A run of suspect steps is a gap: no
// good sample lies in it.
func (d channelChart) chart(ch sensors.Channel, series Series) chart.Chart {
	unit := d.unit(ch.Dimension)
	c := chart.Chart{Title: ch.Name, Unit: locale.Symbol(unit), From: d.span.from, To: d.span.to, Zone: d.zone, DecimalComma: d.units.DecimalComma,
		Step: unit.FromBase(ch.Resolution) - unit.FromBase(0), Empty: d.nothing()}
	line := chart.Line{Name: ch.Name}
	for _, g := range series.Gaps {
		line.Gaps = append(line.Gaps, d.recordedGap(g))
	}
	for i, p := range series.Points {
		if !p.Suspect {
			line.Points = append(line.Points, chart.Point{At: p.At, Min: unit.FromBase(p.Min), Mean: unit.FromBase(p.Mean), Max: unit.FromBase(p.Max), Count: p.Count, Apart: p.Imported})
			continue
		}
		end := d.span.to
		if i+1 < len(series.Points) {
			end = series.Points[i+1].At
		}
		line.Gaps = joinSuspect(line.Gaps, chart.Gap{From: p.At, To: end, Kind: suspectRun, Cause: d.words.Say("history.suspect")})
	}
	slices.SortStableFunc(line.Gaps, func(a, b chart.Gap) int { return a.From.Compare(b.From) })
	for i, g := range line.Gaps {
		if d.sessions != nil && d.attended(g) == 0 {
			line.Gaps[i].Cause = d.unattended(g)
		}
	}
	c.Lines = []chart.Line{line}
	c.Description = d.describe(ch, series)
	return c
}

func joinSuspect(gaps []chart.Gap, g chart.Gap) []chart.Gap {
	if n := len(gaps); n > 0 && gaps[n-1].To.Equal(g.From) && gaps[n-1].Kind == g.Kind {
		gaps[n-1].To = g.To
		return gaps
	}
	return append(gaps, g)
}

func drawn(c chart.Chart) (template.HTML, error) {
	var out bytes.Buffer
	if err := c.WriteSVG(&out); err != nil {
		return "", fmt.Errorf("drawing the chart: %w", err)
	}
	return template.HTML(out.String()), nil //nolint:gosec // the chart escapes all text
}

// attended is how much of a gap lies in sessions.
func (d channelChart) attended(g chart.Gap) (sum time.Duration) {
	if g.To.IsZero() {
		g.To = d.span.to
	}
	for _, s := range d.sessions {
		sum += coverage.Span{From: g.From, To: g.To}.Within(coverage.Span{From: s.from, To: s.to}).Length()
	}
	return sum
}

// recordedGap is a gap with its cause as it was recorded.
func (d channelChart) recordedGap(g SeriesGap) chart.Gap {
	cause := coverage.Cause(g.Cause)
	return chart.Gap{From: g.From, To: g.To, Kind: cause, Cause: d.tell(coverage.Told(cause))}
}

// suspectRun is the kind of a gap in which there are samples, but none that is good.
const suspectRun = "suspect run"

// unattended is the cause of a gap of which no part lies in a session.
func (d channelChart) unattended(g chart.Gap) string {
	if g.Kind == coverage.NotRecorded {
		return d.words.Say("history.nobody-there")
	}
	return d.words.Say("history.and-nobody-there", g.Cause)
}

// nothing says why there is no value: a time that lies ahead is no time without readings.
func (d channelChart) nothing() string {
	if d.span.from.After(d.now.Wall) {
		return d.words.Say("history.ahead")
	}
	return d.words.Say("history.empty")
}

// describe says the series in a sentence.
func (d channelChart) describe(ch sensors.Channel, series Series) string {
	low, high := math.Inf(1), math.Inf(-1)
	for _, p := range series.Points {
		if !p.Suspect {
			low, high = min(low, p.Min), max(high, p.Max)
		}
	}
	if low > high {
		return d.nothing()
	}
	return d.words.Say("history.describe", d.moment(d.span.from), d.moment(d.span.to), d.withUnit(ch.Dimension, low, ch.Resolution),
		d.withUnit(ch.Dimension, high, ch.Resolution), len(series.Gaps))
}

// channelOf finds a channel of a room.
func channelOf(snap *rules.Snapshot, id string) (sensors.Channel, bool) {
	for _, c := range snap.Channels {
		if string(c.Channel.ID) == id {
			return c.Channel, true
		}
	}
	return sensors.Channel{}, false
}

// AirFlow stands in the place of a channel for the flow of air, which is worked out
// from the probe in the duct. No channel of a configuration can have this name.
const AirFlow sensors.ChannelID = "air:flow"

// airFlow is the flow of air as a channel like the others.
func (f figures) airFlow() sensors.Channel {
	return sensors.Channel{ID: AirFlow, Name: f.words.Say("history.flow"), Kind: sensors.VolumeFlow, Traits: sensors.Traits{Dimension: flowDimension, Resolution: 1}}
}

// historyHref leads to the evening of a channel, from another page of its room.
func historyHref(channel sensors.ChannelID, l look) string {
	q := url.Values{"channel": {string(channel)}}
	if l == red {
		q.Set("look", string(red))
	}
	return "history?" + q.Encode()
}
