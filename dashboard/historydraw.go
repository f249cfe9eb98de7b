package dashboard

import (
	"bytes"
	"fmt"
	"html/template"
	"slices"
	"strings"
	"time"

	"wetside/dashboard/chart"
	"wetside/dashboard/locale"
	"wetside/dashboard/report"
	"wetside/rules"
	"wetside/sensors"
)

// drawHistory is what a drawing needs beside the page it goes to.
type drawHistory struct {
	figures
	snap *rules.Snapshot
	span span
	// sessions are the times in which readings were required, nil where nobody can tell.
	sessions []span
}

// pastLine is a channel with its readings over the span.
type pastLine struct {
	sensors.Channel
	Series
}

// drawings draws the lines: those of one unit share an axis.
func (d drawHistory) drawings(lines []pastLine, course Course) ([]historyDrawing, error) {
	var list []historyDrawing
	for len(lines) > 0 {
		unit := d.unit(lines[0].Dimension)
		var same []pastLine
		same, lines = partition(lines, func(l pastLine) bool { return d.unit(l.Dimension) == unit })
		c := d.chart(same[0].Channel, same[0].Series)
		for _, l := range same[1:] {
			more := d.chart(l.Channel, l.Series)
			c.Lines, c.Step = append(c.Lines, more.Lines...), min(c.Step, more.Step)
			c.Title, c.Description = c.Title+", "+l.Name, c.Description+" "+more.Description
		}
		c.Wanted = nil
		if len(same) == 1 {
			c.Wanted = d.bands(same[0].Channel, course)
		}
		d.addLanes(&c, course)
		drawing := historyDrawing{Lanes: len(c.Alarms.Spans) > 0, Readings: d.readings(same, c), Imported: d.imported(same)}
		c.Description = strings.Join(append([]string{c.Description}, drawing.Imported...), " ")
		if len(same) > 1 {
			for _, l := range same {
				drawing.Names = append(drawing.Names, l.Name)
			}
		}
		if err := drawing.draw(c, len(list)+1); err != nil {
			return nil, err
		}
		list = append(list, drawing)
	}
	return list, nil
}

func partition(lines []pastLine, first func(pastLine) bool) (yes, no []pastLine) {
	for _, l := range lines {
		if first(l) {
			yes = append(yes, l)
		} else {
			no = append(no, l)
		}
	}
	return yes, no
}

// draw draws both sizes.
func (h *historyDrawing) draw(c chart.Chart, number int) (err error) {
	c.ID, c.Width, c.Height = fmt.Sprintf("wide-%d", number), 1120, 440
	if h.Wide, err = drawn(c); err != nil {
		return err
	}
	c.ID, c.Width, c.Height = fmt.Sprintf("narrow-%d", number), 420, 380
	h.Narrow, err = drawn(c)
	return err
}

func drawn(c chart.Chart) (template.HTML, error) {
	var out bytes.Buffer
	if err := c.WriteSVG(&out); err != nil {
		return "", fmt.Errorf("drawing the chart: %w", err)
	}
	return template.HTML(out.String()), nil //nolint:gosec // the chart escapes all text
}

// chart turns a series into people's units. A run of suspect steps is a gap: no
// good sample lies in it.
func (d drawHistory) chart(ch sensors.Channel, series Series) chart.Chart {
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

// bands are what was wanted of a channel, each over its time; without a record book
// what is wanted of it now.
func (d drawHistory) bands(ch sensors.Channel, course Course) []chart.Band {
	unit := d.unit(ch.Dimension)
	var list []chart.Band
	for _, b := range course.Bands {
		if b.Channel == ch.ID {
			list = append(list, chart.Band{Low: unit.FromBase(b.Low), High: unit.FromBase(b.High), From: b.From, To: b.To})
		}
	}
	for _, b := range d.snap.Baths {
		if band := b.Bath.Band; course.Bands == nil && b.Bath.Channel == ch.ID && band != (sensors.Range{}) {
			list = append(list, chart.Band{Low: unit.FromBase(band.Low), High: unit.FromBase(band.High)})
		}
	}
	return list
}

// addLanes puts sessions and alarms on the axis of time.
func (d drawHistory) addLanes(c *chart.Chart, course Course) {
	c.Sessions = chart.Lane{Name: d.words.Say("history.sessions"), Many: func(n int) string { return d.words.Say("history.many-sessions", n) }}
	for _, s := range course.Sessions {
		sp := chart.Span{From: s.Begun, To: s.Ended, Short: d.sessionName(s), Title: d.words.Say("history.session-title", d.sessionName(s), d.brief(s.Begun), d.clock(s.Ended))}
		if s.Running {
			sp.To = time.Time{}
		}
		c.Sessions.Spans = append(c.Sessions.Spans, sp)
	}
	c.Alarms = chart.Lane{Name: d.words.Say("history.alarms"), Many: func(n int) string { return d.words.Say("history.many-alarms", n) }}
	for _, a := range course.Alarms {
		row := d.alarmRow(a)
		c.Alarms.Spans = append(c.Alarms.Spans, chart.Span{From: a.Raised, To: a.Cleared, Seen: a.Answered, Title: strings.Join([]string{row.Raised, row.Text, row.Answer}, " · ")})
	}
}

func (d drawHistory) sessionName(s report.Session) string {
	if s.Title == "" {
		return d.words.Say("session.untitled")
	}
	return clip(s.Title)
}
