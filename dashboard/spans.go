package dashboard

import (
	"net/url"
	"time"

	"wetside/rules"
	"wetside/sensors"
)

// The spans that a history page offers.
const (
	evening = 6 * time.Hour
	oneDay  = 24 * time.Hour
)

func offeredSpans() []struct {
	word   string
	length time.Duration
} {
	return []struct {
		word   string
		length time.Duration
	}{{"span.evening", evening}, {"span.day", oneDay}, {"span.week", 7 * oneDay}, {"span.term", 16 * 7 * oneDay}, {"span.year", 365 * oneDay}}
}

// historyAt is the page that links start from.
type historyAt struct {
	figures
	look look
	span span
}

// historyLinks fills in the ways to other channels and other times.
func (s *Server) historyLinks(body *historyBody, snap *rules.Snapshot, at historyAt) {
	for _, c := range snap.Channels {
		body.Channels = append(body.Channels, link{at.href(c.Channel.ID, at.span), c.Channel.Name, c.Channel.ID == body.Channel.ID})
	}
	length := at.span.to.Sub(at.span.from)
	for _, o := range offeredSpans() {
		body.Spans = append(body.Spans, link{at.href(body.Channel.ID, span{at.span.to.Add(-o.length), at.span.to}), s.words.Say(o.word), o.length == length})
	}
	body.Earlier = at.href(body.Channel.ID, span{at.span.from.Add(-length), at.span.from})
	if at.span.to.Before(at.now.Wall.Add(-time.Minute)) {
		body.Later = at.href(body.Channel.ID, span{at.span.to, at.span.to.Add(length)})
	}
}

func (at historyAt) href(channel sensors.ChannelID, sp span) string {
	q := url.Values{"from": {sp.from.In(at.zone).Format(time.RFC3339)}, "to": {sp.to.In(at.zone).Format(time.RFC3339)}}
	return at.channelHref(channel) + "&" + q.Encode()
}

// channelHref leads to the evening of a channel, from another page of its room.
func (at historyAt) channelHref(channel sensors.ChannelID) string {
	q := url.Values{"channel": {string(channel)}}
	if at.look == red {
		q.Set("look", string(red))
	}
	return "history?" + q.Encode()
}

// period is a part of the span in numbers, for those who can't see the drawing.
type period struct{ From, Low, Mean, High string }

// mostPeriods is how many rows the table of a history page has at most.
const mostPeriods = 24

// periods sums the series up in equal parts of the span.
func (d drawHistory) periods(ch sensors.Channel, series Series) []period {
	part := d.span.to.Sub(d.span.from) / mostPeriods
	sums := make([]sum, mostPeriods)
	for _, p := range series.Points {
		at := int(p.At.Sub(d.span.from) / part)
		if !p.Suspect && at >= 0 && at < mostPeriods {
			sums[at].add(p)
		}
	}
	var list []period
	for i, s := range sums {
		row := period{From: d.stamp(d.span.from.Add(time.Duration(i) * part)), Low: d.words.Say("no-value"), Mean: d.words.Say("no-value"), High: d.words.Say("no-value")}
		if s.n > 0 {
			row.Low, row.High = d.value(ch.Dimension, s.low, ch.Resolution), d.value(ch.Dimension, s.high, ch.Resolution)
			row.Mean = d.value(ch.Dimension, s.total/float64(s.n), ch.Resolution)
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

func (s *sum) add(p SeriesPoint) {
	if s.n == 0 {
		s.low, s.high = p.Min, p.Max
	}
	n := max(p.Count, 1)
	s.n, s.total = s.n+n, s.total+p.Mean*float64(n)
	s.low, s.high = min(s.low, p.Min), max(s.high, p.Max)
}

// describe says the series in a sentence.
func (d drawHistory) describe(ch sensors.Channel, series Series) string {
	var all sum
	for _, p := range series.Points {
		if !p.Suspect {
			all.add(p)
		}
	}
	if all.n == 0 {
		return d.words.Say("history.empty")
	}
	return d.words.Say("history.describe", d.moment(d.span.from), d.moment(d.span.to), d.withUnit(ch.Dimension, all.low, ch.Resolution),
		d.withUnit(ch.Dimension, all.high, ch.Resolution), len(series.Gaps))
}
