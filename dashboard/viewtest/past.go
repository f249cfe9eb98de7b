package viewtest

import (
	"context"
	"math"
	"time"

	"wetside/dashboard/cards"
	"wetside/dashboard/record"
	"wetside/dashboard/report"
	"wetside/dashboard/web"
	"wetside/rules/alarm"
	"wetside/rules/ventilation"
	"wetside/sensors"
	"wetside/sensors/quantity"
	"wetside/sensors/quantity/phrase"
)

// Past is an invented record book: weeks of evenings, alarms, and a required band.
type Past struct {
	// Evenings and Alarms are all there are; Err answers every question instead.
	Evenings []report.Session
	Alarms   []report.Alarm
	Err      error
	// Of is the room whose duct the flow is worked out from; without one the flow is invented.
	Of *Stage
}

// NewPast has seven evenings in two weeks up to [Evening], of every sort.
func NewPast() *Past {
	p := &Past{}
	for i, air := range []struct{ uncovered, unproven, known time.Duration }{
		{172 * time.Minute, 0, 172 * time.Minute},                // proven throughout
		{165 * time.Minute, 24 * time.Minute, 165 * time.Minute}, // not enough for a while
		{180 * time.Minute, 31 * time.Minute, 149 * time.Minute}, // not known for a while
		{150 * time.Minute, 62 * time.Minute, 120 * time.Minute}, // both
		{0, 0, 0}, // nothing was poured
		{140 * time.Minute, 140 * time.Minute, 0},                // never known
		{178 * time.Minute, 20 * time.Second, 178 * time.Minute}, // a moment
	} {
		begun := Evening().AddDate(0, 0, -2*(6-i)).Add(-time.Hour)
		s := report.Session{Number: i + 1, Room: "north", Title: "Evening class", Leader: "Ida", People: 8, Begun: begun,
			Ended:     begun.Add(4 * time.Hour),
			Uncovered: air.uncovered, Unproven: air.unproven, FlowKnown: air.known, FlowProven: air.uncovered - air.unproven,
			Record: uint64(100 + i)}
		p.Evenings = append(p.Evenings, s)
	}
	last := &p.Evenings[6]
	last.Running, last.Ended, last.AsOf = true, Evening().Add(time.Hour), Evening().Add(time.Hour)
	fourth := p.Evenings[3].Begun
	p.Alarms = []report.Alarm{
		{Room: "north", ID: "air", Text: phrase.Plain("The air does not move."), Cause: "0.1 m/s", Urgent: true,
			Raised: fourth.Add(80 * time.Minute), Answered: fourth.Add(83 * time.Minute), By: "Ida", Done: "timer turned on again",
			Cleared: fourth.Add(112 * time.Minute), Record: 140},
		{Room: "north", ID: "line:bench", Text: phrase.Plain("The bench cable is silent."), Cause: "unplugged",
			Raised: fourth.Add(100 * time.Minute), Cleared: fourth.Add(130 * time.Minute), Dropped: true, Why: alarm.Rests.Said(), Record: 141},
		{Room: "north", ID: "air", Text: phrase.Plain("The air does not move."), Cause: "0.1 m/s", Urgent: true,
			Raised: Evening().Add(20 * time.Minute), Record: 160},
	}
	return p
}

// Sessions are those of the invented book that touch a time.
func (p *Past) Sessions(_ context.Context, q record.CourseQuery) (list []report.Session, err error) {
	for _, s := range p.Evenings {
		if touches(q, s.Begun, s.Ended) {
			list = append(list, s)
		}
	}
	return list, p.Err
}

func touches(q record.CourseQuery, from, to time.Time) bool {
	return from.Before(q.To) && (to.IsZero() || to.After(q.From))
}

// Course is the part of the invented book that touches a time.
func (p *Past) Course(ctx context.Context, q record.CourseQuery) (record.Course, error) {
	var out record.Course
	out.Sessions, _ = p.Sessions(ctx, q)
	for _, a := range p.Alarms {
		if touches(q, a.Raised, a.Cleared) {
			out.Alarms = append(out.Alarms, a)
		}
	}
	half := q.From.Add(q.To.Sub(q.From) / 2)
	out.Bands = []record.PastBand{{Channel: Channel("north", "developer"), From: q.From, To: q.To, Low: 18, High: 22},
		{Channel: cards.AirFlow, From: q.From, To: half, Low: 180, High: math.Inf(1)}, {Channel: cards.AirFlow, From: half, To: q.To,
			Low: 220, High: math.Inf(1)}}
	return out, p.Err
}

// Flow is that of the room's duct, or an invented one with a dip in the middle.
func (p *Past) Flow(ctx context.Context, _ string, q web.SeriesQuery) (web.Series, error) {
	if p.Of != nil {
		return p.Of.flow(ctx, q)
	}
	var s web.Series
	step := q.To.Sub(q.From) / time.Duration(q.Points)
	for i := range q.Points {
		x := float64(i) / float64(q.Points)
		mean := 255 - 200*math.Exp(-400*(x-0.5)*(x-0.5)) + 4*math.Sin(70*x)
		s.Points = append(s.Points, web.SeriesPoint{At: q.From.Add(time.Duration(i) * step), Min: mean - 9, Mean: mean, Max: mean + 8, Count: 36})
	}
	return s, p.Err
}

// flow works out the flow from what the probe in the duct said.
func (s *Stage) flow(ctx context.Context, q web.SeriesQuery) (web.Series, error) {
	q.Channel = Channel(s.Room.ID, "duct")
	out, err := s.Series(ctx, q)
	probe := s.Room.Duct.Probe(sensors.DuctVelocity)
	for i, p := range out.Points {
		for _, v := range []*float64{&p.Min, &p.Mean, &p.Max} {
			flow, bad := probe.Flow(*v, ventilation.Optional[quantity.Celsius]{})
			*v, p.Suspect = float64(flow), p.Suspect || bad != nil
		}
		out.Points[i] = p
	}
	return out, err
}
