package record

import (
	"html/template"
	"net/url"
	"slices"
	"time"

	"wetside/dashboard/cards"
	"wetside/dashboard/web"
	"wetside/rules"
	"wetside/rules/coverage"
	"wetside/sensors"
)

// oneDay is a day by the clock.
const oneDay = 24 * time.Hour

// offeredSpan is a length of time that people ask for: hours, or days of the calendar.
type offeredSpan struct {
	word  string
	hours time.Duration
	days  int
}

func offeredSpans() []offeredSpan {
	return []offeredSpan{{"6 hours", cards.Evening, 0}, {"Day", 0, 1}, {"Week", 0, 7}, {"Term", 0, 16 * 7},
		{"Year", 0, 365}}
}

// before is the start of the span that ends at a moment. Days keep to the local clock.
func (o offeredSpan) before(t time.Time) time.Time { return t.AddDate(0, 0, -o.days).Add(-o.hours) }

// historyAt is a history page: what it shows, when, and in which light.
type historyAt struct {
	figures
	look     web.Look
	snap     *rules.Snapshot
	channels []sensors.Channel
	span     coverage.Span
	// sessions are the times in which readings were required, nil where nobody can tell.
	sessions []coverage.Span
}

// historyLinks fills in the ways to other channels and other times.
func (s *Pages) historyLinks(body *historyBody, at historyAt) {
	from, to := at.span.From.In(at.Zone), at.span.To.In(at.Zone)
	body.Channels = channelForm{Most: mostDrawn, From: from.Format(time.RFC3339), To: to.Format(time.RFC3339), Look: at.look}
	for _, c := range s.offered(at.figures, at.snap) {
		body.Channels.Choices = append(body.Channels.Choices, web.Choice{Value: string(c.ID), Text: c.Name, Checked: at.draws(c.ID)})
	}
	for _, o := range offeredSpans() {
		body.Spans = append(body.Spans, web.Link{Href: at.toTime(coverage.Span{From: o.before(to), To: to}), Text: o.word,
			Current: o.before(to).Equal(from)})
	}
	body.Earlier, body.Later = at.neighbours()
	if body.Later != "" {
		body.Now = at.toTime(coverage.Span{From: at.Now.Wall.Add(-at.span.Length()), To: at.Now.Wall})
	}
	quarter := at.span.Length() / 4
	if quarter >= time.Minute {
		body.Closer = at.toTime(coverage.Span{From: from.Add(quarter), To: to.Add(-quarter)})
	}
	if at.span.Length() <= longestSpan/2 {
		body.Wider = at.toTime(coverage.Span{From: from.Add(-2 * quarter), To: to.Add(2 * quarter)})
	}
}

// neighbours lead to the spans before and after; the later one is empty at the present.
func (at historyAt) neighbours() (earlier, later string) {
	from, to := at.span.From.In(at.Zone), at.span.To.In(at.Zone)
	before, after := coverage.Span{From: from.Add(-at.span.Length()), To: from}, coverage.Span{From: to, To: to.Add(at.span.Length())}
	for _, o := range offeredSpans() {
		if o.before(to).Equal(from) {
			before.From, after.To = o.before(from), to.AddDate(0, 0, o.days).Add(o.hours)
		}
	}
	if to.Before(at.Now.Wall.Add(-time.Minute)) {
		later = at.toTime(after)
	}
	return at.toTime(before), later
}

func (at historyAt) draws(id sensors.ChannelID) bool {
	return slices.ContainsFunc(at.channels, func(c sensors.Channel) bool { return c.ID == id })
}

// toTime leads to another time of the same channels.
func (at historyAt) toTime(sp coverage.Span) string { return at.href(at.channels, sp) }

func (at historyAt) href(channels []sensors.Channel, sp coverage.Span) string {
	return "history?" + string(at.query(channels, sp, at.look))
}

// query is the address of a view: what it shows, when, and in which light.
func (at historyAt) query(channels []sensors.Channel, sp coverage.Span, l web.Look) template.URL {
	q := url.Values{"from": {sp.From.In(at.Zone).Format(time.RFC3339)}, "to": {sp.To.In(at.Zone).Format(time.RFC3339)}}
	for _, c := range channels {
		q.Add("channel", string(c.ID))
	}
	if l == web.Red {
		q.Set("look", string(web.Red))
	}
	return template.URL(q.Encode()) //nolint:gosec // it is encoded
}

// spanInWords says from when to when something is shown, with the day once where it is one.
func (f figures) spanInWords(sp coverage.Span) string {
	from, to := sp.From.In(f.Zone), sp.To.In(f.Zone)
	if from.Format("2 Jan 2006 MST") == to.Format("2 Jan 2006 MST") {
		return from.Format("Mon 2 Jan 2006 15:04") + to.Format(" to 15:04 MST")
	}
	return f.Moment(from) + " to " + f.Moment(to)
}
