package daemon

import (
	"context"
	"math"
	"time"

	"wetside/daemon/audit"
	"wetside/dashboard/cards"
	"wetside/dashboard/record"
	"wetside/rules/past"
	"wetside/sensors"
)

// lookBack is what the pages that look back see of a site's record book.
type lookBack struct {
	*site
	boards *boards
}

var _ record.Past = lookBack{}

func newLookBack(s *site) lookBack {
	return lookBack{s, newBoards(s.store)}
}

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

func (p lookBack) between(ctx context.Context, q record.CourseQuery) (audit.Sitting, error) {
	return p.chronicle.Between(ctx, q.Room, audit.Question{From: q.From, To: q.To, Now: p.clock.Now().Wall, Live: p.running()})
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

// roomOver is a room by the settings that were in force over a time.
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
