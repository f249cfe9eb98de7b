package record

import (
	"fmt"
	"strings"
	"time"

	"wetside/dashboard/cards"
	"wetside/dashboard/chart"
	"wetside/dashboard/report"
	"wetside/dashboard/web"
	"wetside/sensors"
)

// pastLine is a channel with its readings over the span.
type pastLine struct {
	sensors.Channel
	web.Series
	Chart chart.Chart
}

// series draws a channel over the time of the page.
func (d historyAt) series() cards.ChannelChart {
	return cards.ChannelChart{Figures: d.Figures, Span: d.span, Sessions: d.sessions}
}

// drawings draws each channel, all on one axis of time: what happened stands in the
// first, the times below the last.
func (d historyAt) drawings(body *historyBody, lines []pastLine, course Course) error {
	var charts []chart.Chart
	margin := 0.0
	for i, l := range lines {
		c := l.Chart
		c.Wanted, c.TimeBelow = d.bands(l.Channel, course), i < len(lines)-1
		if i == 0 {
			d.addLanes(&c, course)
		}
		c.Width, c.Height = wide.width, wide.height
		charts, margin = append(charts, c), max(margin, c.Margin())
	}
	for i, c := range charts {
		c.Left = margin
		drawn := historyDrawing{Name: c.Title, Imported: d.imported(lines[i])}
		if len(lines) > 1 {
			drawn.Alone = d.href([]sensors.Channel{lines[i].Channel}, d.span)
		}
		c.Description = strings.TrimSpace(c.Description + " " + drawn.Imported)
		if err := drawn.draw(c, i, len(charts)); err != nil {
			return err
		}
		body.Drawings = append(body.Drawings, drawn)
	}
	body.Lanes, body.Readings = len(course.Alarms) > 0, d.readings(charts)
	return nil
}

// drawn is the size of a drawing that stands alone, and how high one of several is.
type drawn struct{ width, height, among float64 }

var (
	wide   = drawn{900, 380, 170}
	narrow = drawn{420, 380, 190}
)

// draw draws both sizes of one drawing of so many. What happened and the words of the
// time take their room beside the values.
func (h *historyDrawing) draw(c chart.Chart, number, of int) (err error) {
	size := func(s drawn) {
		c.Width, c.Height = s.width, s.height
		if of > 1 {
			c.Height = s.among
			if number == 0 {
				c.Height += 60
			}
		}
	}
	c.ID = fmt.Sprintf("wide-%d", number+1)
	size(wide)
	if h.Wide, err = cards.Drawn(c); err != nil {
		return err
	}
	c.ID = fmt.Sprintf("narrow-%d", number+1)
	size(narrow)
	h.Narrow, err = cards.Drawn(c)
	return err
}

// bands are what was wanted of a channel, each over its time; without a record book
// what is wanted of it now.
func (d historyAt) bands(ch sensors.Channel, course Course) []chart.Band {
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
func (d historyAt) addLanes(c *chart.Chart, course Course) {
	c.Sessions = chart.Lane{Name: "Sessions", Many: func(n int) string { return web.Count(n, "%d session", "%d sessions") }}
	for _, s := range course.Sessions {
		sp := chart.Span{From: s.Begun, To: s.Ended, Short: d.sessionName(s),
			Title: fmt.Sprintf("%s, %s to %s", d.sessionName(s), d.Brief(s.Begun), d.Until(s.Begun, s.Ended))}
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

func (d historyAt) sessionName(s report.Session) string {
	if s.Title == "" {
		return "Session"
	}
	return web.Clip(s.Title)
}
