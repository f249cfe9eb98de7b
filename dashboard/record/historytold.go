package record

import (
	"fmt"
	"slices"
	"strings"
	"time"

	"wetside/dashboard/chart"
	"wetside/dashboard/report"
	"wetside/dashboard/web"
	"wetside/rules/coverage"
)

// shortTable is a table of a history page: no more rows than a person reads, and how many
// there are besides.
type shortTable[T any] struct {
	Rows []T
	More int
}

// mostRows is how many rows a table of a history page has at most.
const mostRows = 30

func (t *shortTable[T]) add(row T) {
	if len(t.Rows) == mostRows {
		t.More++
		return
	}
	t.Rows = append(t.Rows, row)
}

// gapRow is a time without samples in words. Attended is how much of it lies in sessions.
type gapRow struct{ Channel, From, To, Lasted, Cause, Attended string }

// sessionRow is a session with the ways to its own history and report.
type sessionRow struct{ Name, From, To, History, Report string }

// alarmRow is an alarm with what was done about it.
type alarmRow struct{ Raised, Text, Answer, Over string }

// tell fills in what the drawing shows in words.
func (d historyAt) tell(body *historyBody, lines []pastLine, course Course) {
	for _, s := range course.Sessions {
		row := sessionRow{Name: d.sessionName(s), From: d.stamp(s.Begun), To: d.Until(s.Begun, s.Ended), History: d.toTime(d.eveningOf(s)),
			Report: d.reportHref(s, d.look)}
		if s.Running {
			row.To = "ongoing"
		}
		body.Sessions.add(row)
	}
	shown := min(len(course.Alarms), mostRows)
	for _, a := range course.Alarms[:shown] {
		body.Alarms.add(d.alarmRow(a))
	}
	body.Alarms.More = len(course.Alarms) - shown
	var newest time.Time // when the last of the gaps that are shown began
	for _, l := range lines {
		for _, g := range l.Chart.Line.Gaps {
			switch full := len(body.Gaps.Rows) == mostRows; {
			case full && g.From.After(newest.Add(time.Minute)):
				body.Gaps.More++ // it shares no row: none that is shown began in the same minute
				continue
			case !full && g.From.After(newest):
				newest = g.From
			}
			addGap(&body.Gaps, d.gapRow(l.Name, g))
		}
	}
}

// addGap adds a gap; channels that were lost together share a row.
func addGap(t *shortTable[gapRow], row gapRow) {
	for i, other := range t.Rows {
		if other.From == row.From && other.To == row.To && other.Lasted == row.Lasted && other.Cause == row.Cause {
			t.Rows[i].Channel += ", " + row.Channel
			return
		}
	}
	t.add(row)
}

// aroundSession is how much is shown before a session began and after it ended.
const aroundSession = 15 * time.Minute

// eveningOf is the span in which a session is looked at: a running one up to now.
func (f figures) eveningOf(s report.Session) coverage.Span {
	if s.Running {
		return coverage.Span{From: s.Begun.Add(-aroundSession).Truncate(time.Minute), To: f.Now.Wall}
	}
	return coverage.Span{From: s.Begun.Add(-aroundSession).Truncate(time.Minute),
		To: s.Ended.Add(aroundSession + time.Minute).Truncate(time.Minute)}
}

func (f figures) reportHref(s report.Session, l web.Look) string {
	day := s.Begun.In(f.Zone).Format(time.DateOnly)
	return l.Keep(f.place.Under + "/report?from=" + day + "&to=" + day)
}

// alarmRow says of an alarm when it came, who answered after how long, what was
// done, and when it was over.
func (d historyAt) alarmRow(a report.Alarm) alarmRow {
	row := alarmRow{Raised: d.stamp(a.Raised), Text: d.figures.Text(a.Text), Over: "still active"}
	switch {
	case !a.Answered.IsZero():
		row.Answer = strings.TrimSuffix(fmt.Sprintf("acknowledged after %s by %s: %s", report.Lasted(a.Answered.Sub(a.Raised)), a.By,
			a.Done), ": ")
	case a.Why.IsZero():
		row.Answer = "not answered"
	default:
		row.Answer = d.figures.Text(a.Why)
	}
	if !a.Cleared.IsZero() {
		row.Over = d.Until(a.Raised, a.Cleared)
	}
	return row
}

// stamp is a time in a table: with the year only where the span needs it.
func (d historyAt) stamp(t time.Time) string {
	if d.span.Length() > 300*oneDay {
		return d.Moment(t)
	}
	return d.Brief(t)
}

// numberTable is a channel in numbers, for those who can't see the drawing.
type numberTable struct {
	Name    string
	Periods []period
}

// period is a part of the span in numbers.
type period struct{ From, Low, Mean, High string }

// periods sums the series up in so many equal parts of the span.
func (d historyAt) periods(line pastLine, parts int) []period {
	ch, part := line.Channel, d.span.Length()/time.Duration(parts)
	sums := make([]sum, parts)
	for _, p := range line.Points {
		at := int(p.At.Sub(d.span.From) / part)
		if !p.Suspect && at >= 0 && at < parts {
			sums[at].add(p)
		}
	}
	var list []period
	for i, s := range sums {
		row := period{From: d.stamp(d.span.From.Add(time.Duration(i) * part)), Low: "none", Mean: "none",
			High: "none"}
		if s.n > 0 {
			row.Low, row.High = d.Value(ch.Dimension, s.low, ch.Resolution), d.Value(ch.Dimension, s.high, ch.Resolution)
			row.Mean = d.Value(ch.Dimension, s.total/float64(s.n), ch.Resolution)
		}
		list = append(list, row)
	}
	return list
}

// sum gathers the points of a period, each weighted by its samples.
type sum struct {
	n                int
	low, high, total float64
}

func (s *sum) add(p web.SeriesPoint) {
	if s.n == 0 {
		s.low, s.high = p.Min, p.Max
	}
	n := max(p.Count, 1)
	s.n, s.total = s.n+n, s.total+p.Mean*float64(n)
	s.low, s.high = min(s.low, p.Min), max(s.high, p.Max)
}

// sessionSpans are the times in which somebody was at work, in order and apart.
func (d historyAt) sessionSpans(sessions []report.Session) []coverage.Span {
	spans := []coverage.Span{}
	for _, s := range sessions {
		sp := coverage.Span{From: s.Begun, To: s.Ended}
		if s.Running {
			sp.To = d.span.To
		}
		if n := len(spans); n > 0 && !sp.From.After(spans[n-1].To) {
			spans[n-1].To = slices.MaxFunc([]time.Time{spans[n-1].To, sp.To}, time.Time.Compare)
			continue
		}
		spans = append(spans, sp)
	}
	return spans
}

// gapRow says a gap in words.
func (d historyAt) gapRow(channel string, g chart.Gap) gapRow {
	row := gapRow{Channel: channel, From: d.stamp(g.From), To: "ongoing", Cause: g.Cause,
		Attended: "none"}
	to := g.To
	if to.IsZero() {
		to = d.span.To
	} else {
		row.To = d.stamp(to)
	}
	row.Lasted = report.Lasted(to.Sub(g.From))
	if there := d.series().Attended(g); there > 0 {
		row.Attended = report.Lasted(there)
	}
	return row
}

// imported says which values of a line came from a file and not from the probe;
// nothing where none did.
func (d historyAt) imported(l pastLine) string {
	var from, to time.Time
	for _, p := range l.Points {
		if !p.Imported {
			continue
		}
		if from.IsZero() {
			from = p.At
		}
		to = p.At
	}
	if from.IsZero() {
		return ""
	}
	return fmt.Sprintf("Hollow line: imported from a file, not measured by a probe of this room: %s, from %s to %s.", l.Name, d.Moment(from),
		d.Moment(to))
}
