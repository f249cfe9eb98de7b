package past

import (
	"wetside/rules/coverage"
)

// FlowCourse sums up by the minute what the flow probe of a room read while a session was open.
type FlowCourse struct {
	*AirMinutes
	probe  FlowProbe
	warm   Temperatures
	within milliSpan
}

// FlowCourse begins the course of a session. In the disputed times no reading counts.
func (e Evening) FlowCourse(probe FlowProbe, warm Temperatures, disputed []coverage.Span) *FlowCourse {
	span := e.Span()
	return &FlowCourse{NewAirMinutes(e.Open(), disputed), probe, warm, milliSpan{span.From.UnixMilli(), span.To.UnixMilli()}}
}

// Read counts a reading in its minute, if it counts.
func (f *FlowCourse) Read(r Reading) {
	if !r.Good || !f.within.holds(r) {
		return
	}
	minute := f.counting(r.UnixMilli)
	if minute == nil {
		return
	}
	at := r.At()
	if changes, err := f.probe.AirChanges(r.Raw, at, f.warm.At(at)); err == nil {
		minute.add(float64(changes))
	}
}
