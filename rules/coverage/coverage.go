// Package coverage says how much of a time that was to be measured was measured,
// and why the rest was not. It is pure: samples and recorded gaps go in.
//
// A moment is valid when the last sample before it is good and the next one comes
// no later than the channel may be silent. A longer silence is missing as a whole,
// from the last sample on: nobody knows when in it the probe went. So valid and
// missing time are together the required time, and the parts of a split time add up
// to the whole.
package coverage

import "time"

// Span is a time from From up to, not including, To.
type Span struct{ From, To time.Time }

// Length is how long the span is, zero for one that ends before it begins.
func (s Span) Length() time.Duration { return max(0, s.To.Sub(s.From)) }

// Within is the part of s that lies in o.
func (s Span) Within(o Span) Span {
	if o.From.After(s.From) {
		s.From = o.From
	}
	if o.To.Before(s.To) {
		s.To = o.To
	}
	return s
}

// Gap is a time without a valid reading, and why.
type Gap struct {
	Span
	Cause string
}

// NotRecorded is the cause of missing time for which no cause is known.
const NotRecorded = "not recorded"

// Coverage is what a required time comes to. Valid and Missing add up to Required.
type Coverage struct {
	Required, Valid, Missing time.Duration
	// Longest is the longest unbroken missing time, of one cause or several.
	Longest time.Duration
	// Gaps are the missing time, in order, each stretch with one cause.
	Gaps []Gap
}

// of makes a coverage from its parts.
func of(required, valid time.Duration, gaps []Gap) Coverage {
	c := Coverage{Required: required, Valid: valid, Missing: required - valid}
	var run Span
	for _, g := range gaps {
		if n := len(c.Gaps); n > 0 && c.Gaps[n-1].Cause == g.Cause && c.Gaps[n-1].To.Equal(g.From) {
			c.Gaps[n-1].To = g.To
		} else {
			c.Gaps = append(c.Gaps, g)
		}
		if !run.To.Equal(g.From) {
			run.From = g.From
		}
		run.To = g.To
		c.Longest = max(c.Longest, run.Length())
	}
	return c
}
