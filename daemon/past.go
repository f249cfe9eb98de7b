package daemon

import (
	"context"
	"math"
	"time"

	"wetside/daemon/audit"
	"wetside/daemon/history"
	"wetside/daemon/settings"
	"wetside/dashboard"
	"wetside/sensors"
)

// past is what the pages that look back see of a site's record book.
type past struct {
	*site
	chronicle *audit.Chronicle
}

var _ dashboard.Past = past{}

func newPast(s *site) past { return past{s, audit.NewChronicle(&s.store.Reader)} }

// readAhead reads the record book before the first page asks: that of ten years takes
// seconds. A page that asks meanwhile waits for it, and says what is wrong with it.
func (p past) readAhead(ctx context.Context) {
	now := p.clock.Now().Wall
	_, _ = p.between(ctx, dashboard.CourseQuery{From: now, To: now})
}

// Course gives what happened in a time.
func (p past) Course(ctx context.Context, q dashboard.CourseQuery) (dashboard.Course, error) {
	found, err := p.between(ctx, q)
	if err != nil {
		return dashboard.Course{}, err
	}
	out := dashboard.Course{Sessions: found.Sessions, Alarms: found.Alarms}
	for _, room := range roomsOver(q, found.Settings) {
		out.Bands = append(out.Bands, room.bands()...)
	}
	return out, nil
}

func (p past) between(ctx context.Context, q dashboard.CourseQuery) (audit.Sitting, error) {
	return p.chronicle.Between(ctx, q.Room, audit.Question{From: q.From, To: q.To, Now: p.clock.Now().Wall})
}

// roomOver is a room by the settings that were in force over a time.
type roomOver struct {
	settings.Room
	from, to time.Time
}

// roomsOver cuts a time where the settings of a room changed.
func roomsOver(q dashboard.CourseQuery, versions []settings.Version) []roomOver {
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
func (r roomOver) bands() []dashboard.PastBand {
	var list []dashboard.PastBand
	for _, b := range r.Baths {
		if b.Channel != "" && b.Low < b.High {
			list = append(list, dashboard.PastBand{Channel: sensors.ChannelID(b.Channel), From: r.from, To: r.to, Low: b.Low, High: b.High})
		}
	}
	if low, asked := audit.FlowBand(r.Room, r.from); asked {
		list = append(list, dashboard.PastBand{Channel: dashboard.AirFlow, From: r.from, To: r.to, Low: low, High: math.Inf(1)})
	}
	return list
}

// Flow gives the flow of air of a room, each part by the settings of its time. A
// larger raw reading is a larger flow, so that the lowest stays the lowest.
func (p past) Flow(ctx context.Context, room string, q dashboard.SeriesQuery) (dashboard.Series, error) {
	var out dashboard.Series
	course := dashboard.CourseQuery{Room: room, From: q.From, To: q.To}
	found, err := p.between(ctx, course)
	if err != nil {
		return out, err
	}
	for _, over := range roomsOver(course, found.Settings) {
		probe, fitted := audit.FlowProbeOf(over.Corrected(p.recordedCorrections))
		if !fitted {
			continue
		}
		share := over.to.Sub(over.from).Seconds() / q.To.Sub(q.From).Seconds()
		raw, err := p.store.Series(ctx, history.SeriesQuery{Channel: sensors.ChannelID(probe.Channel()), From: over.from, To: over.to, Points: max(int(share*float64(q.Points)), 1)})
		if err != nil {
			return out, err
		}
		part := series(raw, func(r rawValue) float64 {
			if r.imported {
				return math.NaN() // nothing is worked out from what was imported
			}
			return probe.Flow(r.value, r.at)
		})
		out.Points, out.Gaps = append(out.Points, part.Points...), append(out.Gaps, part.Gaps...)
	}
	return out, nil
}
