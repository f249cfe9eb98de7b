package chem

import (
	"fmt"
	"slices"
	"strings"
	"time"
)

// Step is one reason why the time is what it is.
type Step struct {
	// Cause is a few words: "1:48 at 20 °C", "18.4 °C", "62 sheets".
	Cause string
	// Change is what the cause adds to the time (negative: takes away). The
	// first step, and a step that only notes something, changes nothing.
	Change time.Duration
}

// String is the step as shown: "18.4 °C +14 s".
func (s Step) String() string {
	if s.Change == 0 {
		return s.Cause
	}
	return fmt.Sprintf("%s %+d s", s.Cause, int(s.Change.Round(time.Second)/time.Second))
}

// Recommendation is a development time with its reasons, or a refusal with its
// reason; never both. The zero Recommendation is a refusal.
type Recommendation struct {
	time, low, high time.Duration
	basis           string
	steps           []Step
	unknown         []string
	refusal         string
}

// Refused is a recommendation that gives no time, for a reason.
func Refused(reason string) Recommendation {
	return Recommendation{refusal: reason}
}

// Time is the development time; ok is false when it was refused.
func (r Recommendation) Time() (t time.Duration, ok bool) {
	return r.time, r.Refusal() == ""
}

// Interval is the range in which the right time lies with about 95 % coverage,
// from the accuracy of the probe, the strength, the use and the table's rounding.
// Both are zero when the time was refused.
func (r Recommendation) Interval() (low, high time.Duration) { return r.low, r.high }

// Basis says in a few words what the time rests on: "table", "general rule
// (unverified)". It is empty for a refusal.
func (r Recommendation) Basis() string { return r.basis }

// Steps are the reasons in the order they were applied.
func (r Recommendation) Steps() []Step { return slices.Clone(r.steps) }

// Unknown names what was not known and therefore taken as the table has it:
// "strength", "use".
func (r Recommendation) Unknown() []string { return slices.Clone(r.unknown) }

// Refusal is the reason why there is no time, or empty.
func (r Recommendation) Refusal() string {
	if r.refusal == "" && r.time <= 0 {
		return "no development time has been worked out"
	}
	return r.refusal
}

// Sentence is the whole answer on one line: "2:10 = 1:48 at 20 °C, 18.4 °C +14 s,
// 62 sheets +8 s", or the refusal.
func (r Recommendation) Sentence() string {
	if reason := r.Refusal(); reason != "" {
		return "No time: " + reason + "."
	}
	words := make([]string, len(r.steps))
	for i, s := range r.steps {
		words[i] = s.String()
	}
	return MinutesSeconds(r.time) + " = " + strings.Join(words, ", ")
}
