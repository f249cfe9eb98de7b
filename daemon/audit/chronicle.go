package audit

import (
	"context"
	"encoding/json"
	"math"
	"slices"
	"sync"
	"time"

	"wetside/daemon/history"
	"wetside/daemon/settings"
	"wetside/dashboard/report"
	"wetside/rules"
	"wetside/rules/ventilation"
	"wetside/sensors/quantity"
	"wetside/sensors/quantity/phrase"
)

// Chronicle keeps what the record book tells of sessions, alarms and settings, so
// that a page that looks back need not read the book from its beginning each time.
// It reads on where it ended. Its methods may be called from any goroutine.
type Chronicle struct {
	book *history.Reader

	mu       sync.Mutex
	read     uint64 // the last record that was read
	evenings map[string]*evening
	order    []*evening
	lives    *lives
	ages     settings.Ages
}

// NewChronicle reads nothing yet.
func NewChronicle(book *history.Reader) *Chronicle {
	return &Chronicle{book: book, evenings: map[string]*evening{}, lives: newLives()}
}

// Sitting is what a time held: sessions, alarms and the settings that bear on it.
type Sitting struct {
	Sessions []report.Session
	Alarms   []report.Alarm
	// Settings are the versions in force in the time, oldest first.
	Settings []settings.Version
}

// Between gives what happened from From up to To in a room, or in every room when
// none is named. Now bounds what still goes on.
func (c *Chronicle) Between(ctx context.Context, room string, q Question) (Sitting, error) {
	c.mu.Lock()
	defer c.mu.Unlock()
	if err := c.readOn(ctx); err != nil {
		return Sitting{}, phrase.Errorf("reading the record book: %w", err)
	}
	var out Sitting
	touches := func(in string, from, to time.Time) bool {
		return (room == "" || in == room) && from.Before(q.To) && (to.IsZero() || to.After(q.From))
	}
	for i, e := range c.order {
		s := *e
		s.number, s.now = i+1, q.Now
		if r := s.report(); touches(r.Room, r.Begun, r.Ended) {
			out.Sessions = append(out.Sessions, r)
		}
	}
	for _, a := range c.lives.alarms {
		if touches(a.Room, a.Raised, a.Cleared) {
			out.Alarms = append(out.Alarms, *a)
		}
	}
	versions := c.ages.Versions
	for i, v := range versions {
		if v.At.Before(q.To) && (i+1 == len(versions) || versions[i+1].At.After(q.From)) {
			out.Settings = append(out.Settings, v)
		}
	}
	if len(out.Settings) == 0 && len(versions) > 0 {
		out.Settings = versions[:1]
	}
	return out, nil
}

// readOn takes the records that were written since the last time.
func (c *Chronicle) readOn(ctx context.Context) error {
	kinds := append(settings.Kinds(), rules.AlarmChange, rules.SessionPhase, rules.SessionCounts)
	for r, err := range c.book.EachRecord(ctx, history.Query{Kinds: kinds, AfterNumber: c.read}) {
		if err != nil {
			return err
		}
		if err := c.take(r); err != nil {
			return err
		}
		c.read = r.Number
	}
	slices.SortStableFunc(c.order, func(a, b *evening) int { return a.last.Begun.Compare(b.last.Begun) })
	return nil
}

func (c *Chronicle) take(r history.Record) error {
	if slices.Contains(settings.Kinds(), r.Kind) {
		return c.ages.Take(r)
	}
	var e rules.Event
	switch err := json.Unmarshal(r.Content, &e); {
	case err != nil:
	case e.Alarm != nil:
		c.lives.step(r, e)
	case e.Session != nil && !e.Session.Begun.IsZero():
		key := r.Room + " " + e.Session.Begun.Format(time.RFC3339Nano)
		s, known := c.evenings[key]
		if !known {
			s = &evening{room: r.Room}
			if n := len(c.ages.Versions); n > 0 {
				s.settled = &c.ages.Versions[n-1]
			}
			c.evenings[key], c.order = s, append(c.order, s)
		}
		s.take(*e.Session, r.Number)
	}
	return nil
}

// FlowBand is the flow of air that was asked of a room by some settings, in m³/h from
// Low on; false when nothing was.
func FlowBand(r settings.Room, at time.Time) (low float64, asked bool) {
	demand, err := demandOf(r, at)
	if err != nil {
		demand = ventilation.Demand{}
	}
	limits := flowLimits(r, demand)
	return float64(limits.Low), limits.Low > 0
}

// flowLimits are the flows at which the state of a room's air changes.
func flowLimits(r settings.Room, demand ventilation.Demand) ventilation.Limits {
	if c := r.Commissioned; c != nil {
		if derived, err := ventilation.DeriveLimits(quantity.CubicMetrePerHour(c.Flow), ventilation.CommonShares()); err == nil {
			return derived.Require(demand.Exhaust)
		}
	}
	return ventilation.RequiredLimits(demand.Exhaust)
}

// FlowProbe is the most direct probe for the flow of air in a room, with how its raw
// readings become m³/h.
type FlowProbe struct{ air }

// FlowProbeOf finds the probe; false when the room has none.
func FlowProbeOf(r settings.Room) (FlowProbe, bool) {
	a := airOf(r)
	return FlowProbe{a}, a.channel.ID != ""
}

// Channel names the probe.
func (p FlowProbe) Channel() string { return p.channel.ID }

// Flow is the flow in m³/h of a raw reading, NaN for one that means none. A reading
// below zero is no flow.
func (p FlowProbe) Flow(raw float64, at time.Time) float64 {
	flow, err := p.flow(max(corrected(p.channel, p.unit.ToBase(raw), at), 0))
	if err != nil {
		return math.NaN()
	}
	return float64(flow)
}
