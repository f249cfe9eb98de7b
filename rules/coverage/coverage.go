// Package coverage says how much of a time that was to be measured was measured,
// and why the rest was not. It is pure: samples and recorded gaps go in.
//
// A moment is valid when the last sample before it is good and the next one comes
// no later than the channel may be silent. A longer silence is missing as a whole,
// from the last sample on: nobody knows when in it the probe went. So valid and
// missing time are together the required time, and the parts of a split time add up
// to the whole.
package coverage

import (
	"slices"
	"sort"
	"strings"
	"time"

	"wetside/sensors"
	"wetside/sensors/quantity/phrase"
)

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

// The causes beside [NotRecorded]; what is suspect says why.
const (
	lost    = "port lost"
	silent  = "probe silent"
	off     = "machine off" // as the history records it
	suspect = "probe suspect: "
)

// Cause says in an auditor's words why a channel gave no valid reading, from the
// reason that was recorded; what it does not know it gives back as it is.
func Cause(recorded string) string {
	switch r := sensors.Reason(recorded); r {
	case "":
		return NotRecorded
	case sensors.LineLost:
		return lost
	case sensors.Silent, sensors.NeverSeen:
		return silent
	case sensors.OutOfRange, sensors.Jump, sensors.FlatLine, sensors.PowerOn, sensors.UnitMismatch, sensors.ProbeFault, sensors.LooksWrong,
		sensors.Waited:
		return suspect + recorded
	}
	return recorded
}

// Told says one of the causes, as [Cause] gives it, in a sentence.
func Told(cause string) phrase.Sentence {
	switch cause {
	case NotRecorded:
		return phrase.Say("not recorded")
	case lost:
		return phrase.Say("port lost")
	case silent:
		return phrase.Say("probe silent")
	case off:
		return phrase.Say("computer off")
	}
	if why, found := strings.CutPrefix(cause, suspect); found {
		return phrase.Say("probe suspect: %s", sensors.Reason(why))
	}
	return sensors.Reason(cause).Said()
}

// Recorded are the gaps of a channel that were recorded with a cause, laid out so that those
// of one session after another are found without going through all of them.
type Recorded struct {
	gaps  []Gap       // by their beginning
	until []time.Time // the latest end of a gap and of all before it; zero once one lasts
}

// Lay lays gaps out, in any order. One without a To lasts.
func Lay(gaps []Gap) Recorded {
	r := Recorded{gaps: slices.Clone(gaps), until: make([]time.Time, len(gaps))}
	slices.SortStableFunc(r.gaps, func(a, b Gap) int { return a.From.Compare(b.From) })
	for i, g := range r.gaps {
		r.until[i] = g.To
		if i > 0 && !g.To.IsZero() && (r.until[i-1].IsZero() || r.until[i-1].After(g.To)) {
			r.until[i] = r.until[i-1]
		}
	}
	return r
}

// Over gives the gaps of which some part lies in a span, by their beginning.
func (r Recorded) Over(s Span) []Gap {
	ends := func(end time.Time) bool { return end.IsZero() || end.After(s.From) }
	var list []Gap
	for i := sort.Search(len(r.gaps), func(i int) bool { return ends(r.until[i]) }); i < len(r.gaps) && r.gaps[i].From.Before(s.To); i++ {
		if ends(r.gaps[i].To) {
			list = append(list, r.gaps[i])
		}
	}
	return list
}
