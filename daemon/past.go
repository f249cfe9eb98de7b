package daemon

import (
	"context"
	"math"
	"slices"
	"time"

	"wetside/daemon/audit"
	"wetside/daemon/history"
	"wetside/dashboard/cards"
	"wetside/dashboard/record"
	"wetside/dashboard/report"
	"wetside/dashboard/web"
	"wetside/rules/coverage"
	"wetside/rules/past"
	"wetside/rules/ventilation"
	"wetside/sensors"
)

// lookBack is what the pages that look back see of a site's record book.
type lookBack struct {
	*site
	boards *boards
}

var _ record.Past = lookBack{}

// readAhead reads the record book before the first page asks: that of ten years takes
// seconds. A page that asks meanwhile waits for it, and says what is wrong with it.
func (p lookBack) readAhead(ctx context.Context) {
	now := p.clock.Now().Wall
	_, _ = p.between(ctx, record.CourseQuery{From: now, To: now})
	for _, r := range p.everyRoom() {
		_, _ = p.boards.at(ctx, r, now)
	}
}

// Course gives what happened in a time.
func (p lookBack) Course(ctx context.Context, q record.CourseQuery) (record.Course, error) {
	found, err := p.between(ctx, q)
	if err != nil {
		return record.Course{}, err
	}
	out := record.Course{Sessions: found.Sessions, Alarms: found.Alarms}
	for _, room := range roomsOver(q, found.Settings) {
		out.Bands = append(out.Bands, room.bands()...)
	}
	return out, nil
}

// Sessions gives the sessions of a time.
func (p lookBack) Sessions(ctx context.Context, q record.CourseQuery) ([]report.Session, error) {
	return p.chronicle.Sessions(ctx, q.Room, p.question(q))
}

func (p lookBack) between(ctx context.Context, q record.CourseQuery) (audit.Sitting, error) {
	return p.chronicle.Between(ctx, q.Room, p.question(q))
}

func (p lookBack) question(q record.CourseQuery) audit.Question {
	return audit.Question{From: q.From, To: q.To, Now: p.clock.Now().Wall, Live: p.running()}
}

// running are the sessions of the rooms with their counts of this moment.
func (s *site) running() audit.Running {
	live := audit.Running{}
	for _, r := range s.everyRoom() {
		if shown := r.shown.Load(); shown != nil {
			live[r.config.ID] = shown.Session.Counted
		}
	}
	return live
}

type roomOver struct {
	past.Room
	from, to time.Time
}

// roomsOver cuts a time where the settings of a room changed.
func roomsOver(q record.CourseQuery, versions []past.Version) []roomOver {
	var list []roomOver
	for i, v := range versions {
		r, known := v.Room(q.Room)
		if !known {
			continue
		}
		over := roomOver{r, q.From, q.To}
		if i > 0 && v.At.After(q.From) {
			over.from = v.At
		}
		if i+1 < len(versions) && versions[i+1].At.Before(q.To) {
			over.to = versions[i+1].At
		}
		list = append(list, over)
	}
	return list
}

// bands are what was wanted of the channels of the room, and of its air.
func (r roomOver) bands() []record.PastBand {
	var list []record.PastBand
	for _, b := range r.Baths {
		if b.Channel != "" && b.Low < b.High {
			list = append(list, record.PastBand{Channel: sensors.ChannelID(b.Channel), From: r.from, To: r.to, Low: b.Low, High: b.High})
		}
	}
	if low := r.FlowLimits(r.from).Low; low > 0 {
		list = append(list, record.PastBand{Channel: cards.AirFlow, From: r.from, To: r.to, Low: float64(low), High: math.Inf(1)})
	}
	return list
}

// Flow gives the flow of air of a room, each part by the settings of its time, and none while its signs disagree. A
// larger raw reading is a larger flow, so that the lowest stays the lowest.
func (p lookBack) Flow(ctx context.Context, room string, q web.SeriesQuery) (web.Series, error) {
	var out web.Series
	settings, err := p.chronicle.Settings(ctx, q.From, q.To)
	if err != nil {
		return out, err
	}
	for _, over := range roomsOver(record.CourseQuery{Room: room, From: q.From, To: q.To}, settings) {
		part, err := p.flowOver(ctx, over, q)
		if err != nil {
			return out, err
		}
		out.Points, out.Gaps = append(out.Points, part.Points...), append(out.Gaps, part.Gaps...)
	}
	for _, d := range p.chronicle.Disputed(room, coverage.Span{From: q.From, To: q.To}) {
		out.Points = slices.DeleteFunc(out.Points, func(p web.SeriesPoint) bool { return !p.At.Before(d.From) && p.At.Before(d.To) })
		out.Gaps = append(out.Gaps, web.SeriesGap{From: d.From, To: d.To, Cause: string(ventilation.Disputed)})
	}
	return out, nil
}

// flowOver is the flow of a room over the part of a time for which its settings hold: at each
// moment by the probe on which the flow rests.
func (p lookBack) flowOver(ctx context.Context, over roomOver, q web.SeriesQuery) (web.Series, error) {
	over.Room = over.Corrected(p.recordedCorrections)
	share := over.to.Sub(over.from).Seconds() / q.To.Sub(q.From).Seconds()
	part := history.SeriesQuery{From: over.from, To: over.to, Points: max(int(share*float64(q.Points)), 1)}
	probes := over.FlowProbes()
	all, tracks := make([]web.Series, len(probes)), make([]*past.Track, len(probes))
	for i, probe := range probes {
		part.Channel = probe.Channel.ID
		raw, err := p.kept(ctx, part)
		if err != nil {
			return web.Series{}, err
		}
		if all[i], err = p.flowBy(ctx, over, flowRead{probe, part, raw}); err != nil {
			return web.Series{}, err
		}
		tracks[i] = trackOf(all[i], countsFor(probe.Channel, raw))
	}
	return resting(all, tracks, 2*over.to.Sub(over.from)/time.Duration(part.Points)), nil
}

// resting joins what several probes say of one flow: each point of the one on which it rests;
// where it rests on none, what the most direct one says and lacks. A point stands at the
// beginning of its step: one within a step of the edge of a gap does not fill the gap.
func resting(all []web.Series, tracks []*past.Track, step time.Duration) web.Series {
	switch len(all) {
	case 0:
		return web.Series{}
	case 1:
		return all[0]
	}
	var out web.Series
	for i, one := range all {
		for _, p := range one.Points {
			if lead, _ := past.Leading(tracks, p.At); lead == i {
				out.Points = append(out.Points, p)
			}
		}
	}
	slices.SortStableFunc(out.Points, func(a, b web.SeriesPoint) int { return a.At.Compare(b.At) })
	for _, g := range all[0].Gaps {
		filled := func(p web.SeriesPoint) bool {
			return !p.Suspect && p.At.After(g.From.Add(step)) && (g.To.IsZero() || p.At.Before(g.To.Add(-step)))
		}
		if !slices.ContainsFunc(out.Points, filled) {
			out.Gaps = append(out.Gaps, g)
		}
	}
	return out
}

// trackOf is what the points of a series measured, each for as long as a reading counts.
func trackOf(s web.Series, silence time.Duration) *past.Track {
	t := &past.Track{Silence: silence}
	for _, p := range s.Points {
		t.Add(p.At, p.Mean, !p.Suspect && !p.Imported)
	}
	return t
}

// flowRead is what was kept of one flow probe over a time.
type flowRead struct {
	past.FlowProbe
	part history.SeriesQuery
	raw  history.Series
}

func (p lookBack) flowBy(ctx context.Context, over roomOver, read flowRead) (web.Series, error) {
	var warm past.Temperatures
	if read.NeedsTemperature() {
		var err error
		if warm, err = p.temperatures(ctx, over, read.part); err != nil {
			return web.Series{}, err
		}
	}
	return series(read.raw, func(r rawValue) float64 {
		flow, err := read.Flow(past.Reading{UnixMilli: r.at.UnixMilli(), Raw: r.value, Good: true}, warm.At(r.at))
		if err != nil || r.imported {
			return math.NaN() // nothing is worked out from what was imported
		}
		return float64(flow)
	}), nil
}

func (p lookBack) temperatures(ctx context.Context, over roomOver, q history.SeriesQuery) (past.Temperatures, error) {
	var list past.Temperatures
	for _, c := range over.AirTemperatures() {
		channel := c.Sensor()
		q.Channel = channel.ID
		raw, err := p.kept(ctx, q)
		if err != nil {
			return nil, err
		}
		list = append(list, trackOf(corrected(channel, raw), countsFor(channel, raw)))
	}
	return list, nil
}

// countsFor is for how long a point of a kept series counts: as long as a reading does, after
// the width of its column.
func countsFor(c sensors.Channel, raw history.Series) time.Duration {
	if len(raw.Columns) == 0 {
		return c.Silence
	}
	return c.Silence + raw.Columns[0].To.Sub(raw.Columns[0].From)
}
