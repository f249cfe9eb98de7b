package audit

import (
	"slices"

	"wetside/dashboard/report"
	"wetside/rules/coverage"
	"wetside/rules/past"
)

// flow reads the flow probes of a session, the most direct first.
func (c counting) flow(h *hearings, s evening, room past.Room) (*past.FlowCourse, error) {
	probes := room.FlowProbes()
	if len(probes) == 0 {
		return nil, nil
	}
	course := s.FlowCourse(probes, c.chronicle.Disputed(s.Room, s.Span()))
	for {
		probe, over, more := course.Next()
		if !more {
			return course, nil
		}
		if probe.NeedsTemperature() {
			warm, err := c.temperatures(s, room, over)
			if err != nil {
				return nil, err
			}
			course.Warm(warm)
		}
		if err := h.hear(string(probe.Channel.ID), wanted{course.Read, over}); err != nil {
			return nil, err
		}
	}
}

func (c counting) temperatures(s evening, room past.Room, over []coverage.Span) (list past.Temperatures, err error) {
	for _, channel := range room.AirTemperatures() {
		sensor := channel.Sensor()
		t, known := c.warm[channel.ID]
		if !known {
			t = &past.Track{}
			c.warm[channel.ID] = t
		}
		t.Reset(sensor.Silence)
		read := func(r past.Reading) { t.Read(&sensor, r) }
		wide := slices.Clone(over)
		for i := range wide {
			wide[i].From = wide[i].From.Add(-sensor.Silence)
		}
		if err := c.hear(hearing{channel: channel, over: s.Span(), wanted: []wanted{{read, wide}}}); err != nil {
			return nil, err
		}
		list = append(list, t)
	}
	return list, nil
}

func (c *counted) fillAir(session int, list []past.AirMinute) {
	means := make([]float64, 0, len(list)) // never grown: the rows point into it
	c.minutes = make([]report.Minute, 0, len(list))
	for i := range list {
		p := &list[i]
		row := report.Minute{Session: session, At: p.At, Readings: p.Readings}
		if p.Readings > 0 {
			means = append(means, p.Mean())
			mean := &means[len(means)-1]
			row.Low, row.Mean, row.Highest = &p.Low, mean, &p.High
			if c.lowest == nil || *mean < *c.lowest {
				c.lowest = mean
			}
		}
		c.minutes = append(c.minutes, row)
	}
	c.typical = report.Median(means)
}

// airStates lists the states of the air of every room that has a session or settings in the
// time, each with the session in which it was.
func (g *gathering) airStates() error {
	g.chronicle.mu.Lock()
	defer g.chronicle.mu.Unlock()
	f, over := &g.chronicle.fold, coverage.Span{From: g.From, To: g.To}
	for _, room := range f.AirRooms() {
		evenings := slices.DeleteFunc(slices.Clone(g.evenings), func(e evening) bool { return e.Room != room })
		for _, s := range f.Air(room, over) {
			for len(evenings) > 0 && !evenings[0].Span().To.After(s.From) {
				evenings = evenings[1:]
			}
			out := report.AirState{Room: room, State: s.State.Said(), Verdict: string(s.State.Verdict()), From: s.From, To: s.To,
				Stopped: s.Stopped, Cause: s.Cause}
			if len(evenings) > 0 && s.Until(g.Now).After(evenings[0].Span().From) {
				out.Session = evenings[0].number
			}
			g.data.AirStates = append(g.data.AirStates, out)
		}
	}
	return nil
}

// Disputed are the times in which the signs of the air of a room disagreed.
func (c *Chronicle) Disputed(room string, over coverage.Span) []coverage.Span {
	c.mu.Lock()
	defer c.mu.Unlock()
	return c.fold.Disputed(room, over)
}
