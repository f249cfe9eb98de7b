package past

import (
	"slices"
	"time"

	"wetside/rules/coverage"
)

// FlowCourse sums up by the minute what the flow probes of a room read while a session was
// open: at each moment the one on which the flow rests, as on the board. The probes are read one
// after another, the most direct first; one after the first is asked only for the times in
// which none before it had a value.
type FlowCourse struct {
	minutes *AirMinutes
	probes  []FlowProbe
	within  milliSpan
	// unknown are the times in which no probe that was read had a value.
	unknown []milliSpan
	warm    Temperatures
	now     flowReader
}

type flowReader struct {
	*FlowProbe
	silence int64       // milliseconds
	at      int         // the first of the unknown times that has not gone by
	until   int64       // up to when the last value holds
	values  []milliSpan // the times in which the probe had a value
}

// FlowCourse begins the course of a session. In the disputed times no reading counts.
func (e Evening) FlowCourse(probes []FlowProbe, disputed []coverage.Span) *FlowCourse {
	span := e.Span()
	within := milliSpan{span.From.UnixMilli(), span.To.UnixMilli()}
	return &FlowCourse{minutes: NewAirMinutes(e.Open(), disputed), probes: probes, within: within, unknown: []milliSpan{within}}
}

// Next goes on to the next probe, and says for which times the probe must be read; false when
// there is none, or nothing is left to be known.
func (f *FlowCourse) Next() (probe *FlowProbe, over []coverage.Span, more bool) {
	f.finish()
	if len(f.probes) == 0 || len(f.unknown) == 0 {
		return nil, nil, false
	}
	p := &f.probes[0]
	f.probes, f.now = f.probes[1:], flowReader{FlowProbe: p, silence: p.Channel.Silence.Milliseconds()}
	for _, s := range f.unknown {
		over = append(over, coverage.Span{From: time.UnixMilli(s.from - f.now.silence).UTC(), To: time.UnixMilli(s.to).UTC()})
	}
	return p, over, true
}

// Warm takes what the temperature of the air was, for a probe that needs it.
func (f *FlowCourse) Warm(air Temperatures) { f.warm = air }

// Read takes a reading of the probe, in the order of time.
func (f *FlowCourse) Read(r Reading) {
	p := &f.now
	p.hold(r.UnixMilli)
	if !r.Good {
		return
	}
	for p.at < len(f.unknown) && f.unknown[p.at].to <= r.UnixMilli {
		p.at++
	}
	counts := p.at < len(f.unknown) && f.unknown[p.at].holds(r)
	changes, err := p.AirChanges(r, f.warm.At(r.At()))
	if err != nil {
		return
	}
	p.until = r.UnixMilli + p.silence + 1
	p.values = append(p.values, milliSpan{r.UnixMilli, r.UnixMilli})
	if !counts {
		return
	}
	if minute := f.minutes.counting(r.UnixMilli); minute != nil {
		minute.add(float64(changes))
	}
}

// hold lets the last value hold up to a moment, as long as a value does.
func (p *flowReader) hold(to int64) {
	n := len(p.values) - 1
	if n < 0 {
		return
	}
	p.values[n].to = max(p.values[n].to, min(p.until, to))
	p.until = 0
	if n > 0 && p.values[n-1].to >= p.values[n].from { // the time before runs on
		p.values[n-1].to = p.values[n].to
		p.values = p.values[:n]
	}
}

// finish takes the times in which the probe had a value out of the unknown ones.
func (f *FlowCourse) finish() {
	f.now.hold(f.within.to)
	for _, s := range f.now.values {
		f.unknown = without(f.unknown, s)
	}
}

// without cuts a time out of others.
func without(list []milliSpan, s milliSpan) []milliSpan {
	at := slices.IndexFunc(list, func(o milliSpan) bool { return o.to > s.from })
	if at < 0 {
		return list
	}
	out := slices.Clone(list[:at])
	for _, o := range list[at:] {
		if before := (milliSpan{o.from, min(o.to, s.from)}); before.from < before.to {
			out = append(out, before)
		}
		if after := (milliSpan{max(o.from, s.to), o.to}); after.from < after.to {
			out = append(out, after)
		}
	}
	return out
}

// List gives the minutes in order, once every probe was read.
func (f *FlowCourse) List() []AirMinute { return f.minutes.List() }
