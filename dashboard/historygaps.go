package dashboard

import (
	"wetside/dashboard/chart"
	"wetside/dashboard/report"
	"wetside/rules"
)

// sessionSpans are the times in which somebody was at work.
func (d drawHistory) sessionSpans(sessions []report.Session) []span {
	spans := []span{}
	for _, s := range sessions {
		sp := span{s.Begun, s.Ended}
		if s.Running {
			sp.to = d.span.to
		}
		spans = append(spans, sp)
	}
	return spans
}

// gapRow says a gap in words.
func (d drawHistory) gapRow(channel string, g chart.Gap) gapRow {
	row := gapRow{Channel: channel, From: d.stamp(g.From), To: d.words.Say("history.lasts"), Cause: g.Cause, Attended: d.words.Say("history.none")}
	to := g.To
	if to.IsZero() {
		to = d.span.to
	} else {
		row.To = d.stamp(to)
	}
	row.Lasted = d.figures.tell(rules.Age(to.Sub(g.From)))
	if there := d.series().attended(g); there > 0 {
		row.Attended = d.figures.tell(rules.Age(there))
	}
	return row
}
