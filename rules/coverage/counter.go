package coverage

import (
	"slices"
	"time"
)

// Channel is what the counting needs to know of a channel.
type Channel struct {
	// Silence is the longest time between two samples that is still a measurement.
	Silence time.Duration
	// Until is how far the samples are known, such as now: what comes later is not required.
	Until time.Time
}

// Counter counts the valid time of one channel from its samples. To know the ends
// of the required time it needs the samples from one silence before it to one after.
type Counter struct {
	channel  Channel
	required Span
	valid    time.Duration
	missing  []Gap
	last     time.Time
	why      string // of the last sample, empty when it is good
	begun    bool
}

// NewCounter starts counting over a required time.
func NewCounter(required Span, c Channel) *Counter {
	if c.Until.Before(required.To) {
		required.To = c.Until
	}
	return &Counter{channel: c, required: required}
}

// Add takes the next sample; they come in the order of time, and one that does not
// is passed over. Why says what is wrong with it and is empty for a good one.
func (c *Counter) Add(at time.Time, why string) {
	if c.begun && at.Before(c.last) {
		return
	}
	c.stretch(at)
	c.last, c.why, c.begun = at, why, true
}

// AddRun takes a run of samples of one kind, between which no pause was longer than
// the channel may be silent.
func (c *Counter) AddRun(run Span, why string) {
	c.Add(run.From, why)
	if !c.last.Equal(run.From) || !run.To.After(run.From) {
		return
	}
	c.count(run.Within(c.required), why)
	c.last = run.To
}

// stretch counts the time from the last sample to the next one, or to the end.
func (c *Counter) stretch(to time.Time) {
	from := c.required.From
	if c.begun {
		from = c.last
	}
	why := NotRecorded
	if c.begun && to.Sub(c.last) <= c.channel.Silence {
		why = c.why
	}
	c.count(Span{from, to}.Within(c.required), why)
}

// count adds a time that is valid, or missing for a reason.
func (c *Counter) count(t Span, why string) {
	switch {
	case why == "":
		c.valid += t.Length()
	case t.Length() > 0:
		c.missing = append(c.missing, Gap{t, why})
	}
}

// Finish ends the counting. The recorded gaps, in any order, say why time is
// missing; where several do, the one that began first is named.
func (c *Counter) Finish(recorded []Gap) Coverage {
	c.stretch(c.channel.Until)
	recorded = slices.Clone(recorded)
	slices.SortStableFunc(recorded, func(a, b Gap) int { return a.From.Compare(b.From) })
	var gaps []Gap
	for _, g := range c.missing {
		gaps = explain(gaps, g, recorded)
	}
	return of(c.required.Length(), c.valid, gaps)
}

// explain adds a missing stretch, cut into the parts that the recorded gaps explain and the rest.
func explain(gaps []Gap, g Gap, recorded []Gap) []Gap {
	for _, r := range recorded {
		part := r.Span
		if part.To.IsZero() {
			part.To = g.To
		}
		part = part.Within(g.Span)
		if part.Length() == 0 {
			continue
		}
		if part.From.After(g.From) {
			gaps = append(gaps, Gap{Span{g.From, part.From}, g.Cause})
		}
		gaps = append(gaps, Gap{part, r.Cause})
		g.From = part.To
	}
	if g.Length() > 0 {
		gaps = append(gaps, g)
	}
	return gaps
}
