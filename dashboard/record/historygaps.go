package record

import (
	"wetside/dashboard/cards"
	"wetside/dashboard/chart"
	"wetside/dashboard/report"
	"wetside/rules"
)

// sessionSpans are the times in which somebody was at work.
func (d drawHistory) sessionSpans(sessions []report.Session) []cards.Span {
	spans := []cards.Span{}
	for _, s := range sessions {
		sp := cards.Span{From: s.Begun, To: s.Ended}
		if s.Running {
			sp.To = d.span.To
		}
		spans = append(spans, sp)
	}
	return spans
}

// gapRow says a gap in words.
func (d drawHistory) gapRow(channel string, g chart.Gap) gapRow {
	row := gapRow{Channel: channel, From: d.stamp(g.From), To: "ongoing", Cause: g.Cause,
		Attended: "none"}
	to := g.To
	if to.IsZero() {
		to = d.span.To
	} else {
		row.To = d.stamp(to)
	}
	row.Lasted = d.figures.Text(rules.Age(to.Sub(g.From)))
	if there := d.series().Attended(g); there > 0 {
		row.Attended = d.figures.Text(rules.Age(there))
	}
	return row
}
