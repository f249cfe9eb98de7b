package record

import (
	"fmt"
	"strings"
	"time"

	"wetside/dashboard/cards"
	"wetside/dashboard/chart"
	"wetside/dashboard/report"
	"wetside/dashboard/web"
	"wetside/rules"
	"wetside/sensors"
)

// drawHistory is what a drawing needs beside the page it goes to.
type drawHistory struct {
	figures
	snap *rules.Snapshot
	span cards.Span
	// sessions are the times in which readings were required, nil where nobody can tell.
	sessions []cards.Span
}

// pastLine is a channel with its readings over the span.
type pastLine struct {
	sensors.Channel
	web.Series
}

// series draws a channel over the time of the page.
func (d drawHistory) series() cards.ChannelChart {
	return cards.ChannelChart{Figures: d.Figures, Span: d.span, Sessions: d.sessions}
}

// drawings draws the lines: those of one unit share an axis.
func (d drawHistory) drawings(lines []pastLine, course Course) ([]historyDrawing, error) {
	var list []historyDrawing
	for len(lines) > 0 {
		unit := d.Unit(lines[0].Dimension)
		var same []pastLine
		same, lines = partition(lines, func(l pastLine) bool { return d.Unit(l.Dimension) == unit })
		c := d.series().Chart(same[0].Channel, same[0].Series)
		for _, l := range same[1:] {
			more := d.series().Chart(l.Channel, l.Series)
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
	if h.Wide, err = cards.Drawn(c); err != nil {
		return err
	}
	c.ID, c.Width, c.Height = fmt.Sprintf("narrow-%d", number), 420, 380
	h.Narrow, err = cards.Drawn(c)
	return err
}

// bands are what was wanted of a channel, each over its time; without a record book
// what is wanted of it now.
func (d drawHistory) bands(ch sensors.Channel, course Course) []chart.Band {
	unit := d.Unit(ch.Dimension)
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
	c.Sessions = chart.Lane{Name: "Sessions", Many: func(n int) string { return web.Count(n, "%d session", "%d sessions") }}
	for _, s := range course.Sessions {
		sp := chart.Span{From: s.Begun, To: s.Ended, Short: d.sessionName(s),
			Title: fmt.Sprintf("%s, %s to %s", d.sessionName(s), d.Brief(s.Begun), d.TimeOfDay(s.Ended))}
		if s.Running {
			sp.To = time.Time{}
		}
		c.Sessions.Spans = append(c.Sessions.Spans, sp)
	}
	c.Alarms = chart.Lane{Name: "Alarms", Many: func(n int) string { return web.Count(n, "%d alarm", "%d alarms") }}
	for _, a := range course.Alarms {
		row := d.alarmRow(a)
		c.Alarms.Spans = append(c.Alarms.Spans, chart.Span{From: a.Raised, To: a.Cleared, Seen: a.Answered,
			Title: strings.Join([]string{row.Raised, row.Text, row.Answer}, " · ")})
	}
}

func (d drawHistory) sessionName(s report.Session) string {
	if s.Title == "" {
		return "Session"
	}
	return web.Clip(s.Title)
}
