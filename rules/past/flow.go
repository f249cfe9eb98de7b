package past

import (
	"slices"

	"wetside/rules/coverage"
)

// FlowCourse sums up by the minute what the flow probes of a room read while a session was
// open: at each moment the one on which the flow rests, as on the board.
type FlowCourse struct {
	minutes *AirMinutes
	probes  []FlowProbe // the most direct first
	tracks  []*Track    // of each probe, in air changes an hour
	warm    Temperatures
	within  milliSpan
}

// FlowCourse begins the course of a session. In the disputed times no reading counts.
func (e Evening) FlowCourse(probes []FlowProbe, warm Temperatures, disputed []coverage.Span) *FlowCourse {
	span := e.Span()
	f := &FlowCourse{NewAirMinutes(e.Open(), disputed), probes, nil, warm, milliSpan{span.From.UnixMilli(), span.To.UnixMilli()}}
	for _, p := range probes {
		f.tracks = append(f.tracks, &Track{Silence: p.Channel.Silence})
	}
	return f
}

// Reader takes the readings of a channel in the order of time; nil for one that measures no flow.
func (f *FlowCourse) Reader(channel string) func(Reading) {
	i := slices.IndexFunc(f.probes, func(p FlowProbe) bool { return string(p.Channel.ID) == channel })
	switch {
	case i < 0:
		return nil
	case len(f.probes) == 1:
		return f.count // at once: years of readings need not be kept to be counted
	}
	return func(r Reading) {
		changes, err := f.probes[i].AirChanges(r.Raw, r.At(), f.warm.At(r.At()))
		f.tracks[i].Add(r.At(), float64(changes), r.Good && err == nil)
	}
}

// count counts a reading of the only probe in its minute, if it counts.
func (f *FlowCourse) count(r Reading) {
	if !r.Good || !f.within.holds(r) {
		return
	}
	minute := f.minutes.counting(r.UnixMilli)
	if minute == nil {
		return
	}
	at := r.At()
	if changes, err := f.probes[0].AirChanges(r.Raw, at, f.warm.At(at)); err == nil {
		minute.add(float64(changes))
	}
}

// List gives the minutes in order, once every channel was read.
func (f *FlowCourse) List() []AirMinute {
	for i, t := range f.tracks {
		for n, at := range t.at {
			if !t.good[n] || !f.within.holds(Reading{UnixMilli: at.UnixMilli()}) {
				continue
			}
			if lead, _ := Leading(f.tracks, at); lead == i {
				f.minutes.Add(at, t.values[n])
			}
		}
	}
	return f.minutes.List()
}
