package dashboard

import (
	"time"

	"wetside/dashboard/chart"
	"wetside/dashboard/report"
	"wetside/rules"
	"wetside/rules/coverage"
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

// attended is how much of a gap lies in sessions.
func (d drawHistory) attended(g chart.Gap) (sum time.Duration) {
	if g.To.IsZero() {
		g.To = d.span.to
	}
	for _, s := range d.sessions {
		sum += coverage.Span{From: g.From, To: g.To}.Within(coverage.Span{From: s.from, To: s.to}).Length()
	}
	return sum
}

// recordedGap is a gap with its cause as it was recorded.
func (d drawHistory) recordedGap(g SeriesGap) chart.Gap {
	cause := coverage.Cause(g.Cause)
	return chart.Gap{From: g.From, To: g.To, Kind: cause, Cause: d.figures.tell(coverage.Told(cause))}
}

// suspectRun is the kind of a gap in which there are samples, but none that is good.
const suspectRun = "suspect run"

// unattended is the cause of a gap of which no part lies in a session.
func (d drawHistory) unattended(g chart.Gap) string {
	if g.Kind == coverage.NotRecorded {
		return d.words.Say("history.nobody-there")
	}
	return d.words.Say("history.and-nobody-there", g.Cause)
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
	if there := d.attended(g); there > 0 {
		row.Attended = d.figures.tell(rules.Age(there))
	}
	return row
}
