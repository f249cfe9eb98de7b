package dashboard

import (
	"bytes"
	"context"
	"fmt"
	"html/template"
	"net/http"
	"net/url"
	"slices"
	"time"

	"go.uber.org/zap"

	"wetside/dashboard/chart"
	"wetside/rules"
	"wetside/sensors"
)

const (
	// seriesWithin is how long the history may take to answer.
	seriesWithin = 10 * time.Second
	// chartPoints is about how many steps a drawing has.
	chartPoints = 600
	longestSpan = 11 * 366 * 24 * time.Hour
)

// historyBody is one channel over a span of time.
type historyBody struct {
	Channel  sensors.Channel
	Channels []link
	Spans    []link
	Earlier  string
	Later    string
	From, To string
	// Problem is why there is no drawing.
	Problem string
	// Wide and Narrow are the same drawing for a screen and for a phone.
	Wide, Narrow template.HTML
	Periods      []period
	Gaps         []gapRow
}

// gapRow is a time without samples in words.
type gapRow struct{ From, To, Lasted, Cause string }

// span is the time that a history page shows.
type span struct{ from, to time.Time }

func (s *Server) historyPage(w http.ResponseWriter, r *http.Request, in visit) {
	l := lookOf(r)
	p := s.pageFor("history", l, in)
	channel, known := channelOf(in.snap, r.FormValue("channel"))
	sp, wrong := s.spanOf(r.URL.Query())
	switch {
	case !known:
		s.fail(w, r, failure{http.StatusNotFound, s.words.Say("history.no-channel")})
		return
	case wrong != "":
		s.fail(w, r, failure{http.StatusBadRequest, wrong})
		return
	}
	f := s.figures(in.site)
	body := historyBody{Channel: channel, From: f.moment(sp.from), To: f.moment(sp.to)}
	s.historyLinks(&body, in.snap, historyAt{f, l, sp})
	status := http.StatusOK
	if err := s.drawHistory(r.Context(), &body, drawHistory{f, in.snap, sp}); err != nil {
		s.log.Warn("the history of a channel could not be shown", zap.String("channel", string(channel.ID)), zap.Error(err))
		body.Problem, status = s.words.Say("history.problem", err.Error()), http.StatusServiceUnavailable
	}
	p.Body = body
	s.show(w, r, status, p)
}

// channelOf finds the channel asked for; without a name it is the first.
func channelOf(snap *rules.Snapshot, id string) (sensors.Channel, bool) {
	for _, c := range snap.Channels {
		if id == "" || string(c.Channel.ID) == id {
			return c.Channel, true
		}
	}
	return sensors.Channel{}, false
}

// spanOf reads from and to as RFC 3339; without them it is the evening until now.
func (s *Server) spanOf(q url.Values) (sp span, wrong string) {
	now := s.clock.Now().Wall
	sp = span{now.Add(-evening), now}
	for _, end := range []struct {
		name string
		at   *time.Time
	}{{"from", &sp.from}, {"to", &sp.to}} {
		text := q.Get(end.name)
		if text == "" {
			continue
		}
		at, err := time.Parse(time.RFC3339, text)
		if err != nil {
			return sp, s.words.Say("history.bad-time", clip(text))
		}
		*end.at = at
	}
	if length := sp.to.Sub(sp.from); length < time.Minute || length > longestSpan {
		return sp, s.words.Say("history.bad-span")
	}
	return sp, ""
}

// drawHistory is what a drawing needs beside the page it goes to.
type drawHistory struct {
	figures
	snap *rules.Snapshot
	span span
}

func (s *Server) drawHistory(ctx context.Context, body *historyBody, d drawHistory) error {
	ctx, cancel := context.WithTimeout(ctx, seriesWithin)
	defer cancel()
	series, err := s.view.Series(ctx, SeriesQuery{Channel: body.Channel.ID, From: d.span.from.UTC(), To: d.span.to.UTC(), Points: chartPoints})
	if err != nil {
		return err
	}
	c := d.chart(body.Channel, series)
	body.Periods = d.periods(body.Channel, series)
	for _, g := range c.Gaps {
		body.Gaps = append(body.Gaps, d.gapRow(g))
	}
	c.ID, c.Width, c.Height = "wide", 1120, 420
	if body.Wide, err = drawn(c); err != nil {
		return err
	}
	c.ID, c.Width, c.Height = "narrow", 420, 340
	body.Narrow, err = drawn(c)
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
	c := chart.Chart{Title: ch.Name, Unit: symbol(unit), From: d.span.from, To: d.span.to, Zone: d.zone,
		Step: unit.FromBase(ch.Resolution) - unit.FromBase(0), Empty: d.words.Say("history.empty")}
	for _, g := range series.Gaps {
		c.Gaps = append(c.Gaps, chart.Gap{From: g.From, To: g.To, Cause: g.Cause})
	}
	for i, p := range series.Points {
		if !p.Suspect {
			c.Points = append(c.Points, chart.Point{At: p.At, Min: unit.FromBase(p.Min), Mean: unit.FromBase(p.Mean), Max: unit.FromBase(p.Max)})
			continue
		}
		end := d.span.to
		if i+1 < len(series.Points) {
			end = series.Points[i+1].At
		}
		c.Gaps = joinSuspect(c.Gaps, chart.Gap{From: p.At, To: end, Cause: d.words.Say("history.suspect")})
	}
	for _, b := range d.snap.Baths {
		if band := b.Bath.Band; b.Bath.Channel == ch.ID && band != (sensors.Range{}) {
			c.Wanted = &chart.Band{Low: unit.FromBase(band.Low), High: unit.FromBase(band.High)}
		}
	}
	slices.SortStableFunc(c.Gaps, func(a, b chart.Gap) int { return a.From.Compare(b.From) })
	c.Description = d.describe(ch, series)
	return c
}

// stamp is a time in a table: with the year only where the span needs it.
func (d drawHistory) stamp(t time.Time) string {
	if d.span.to.Sub(d.span.from) > 300*oneDay {
		return d.moment(t)
	}
	return d.brief(t)
}

func joinSuspect(gaps []chart.Gap, g chart.Gap) []chart.Gap {
	if n := len(gaps); n > 0 && gaps[n-1].To.Equal(g.From) && gaps[n-1].Cause == g.Cause {
		gaps[n-1].To = g.To
		return gaps
	}
	return append(gaps, g)
}

func (d drawHistory) gapRow(g chart.Gap) gapRow {
	if g.To.IsZero() {
		return gapRow{d.stamp(g.From), d.words.Say("history.lasts"), rules.Age(d.span.to.Sub(g.From)), g.Cause}
	}
	return gapRow{d.stamp(g.From), d.stamp(g.To), rules.Age(g.To.Sub(g.From)), g.Cause}
}
