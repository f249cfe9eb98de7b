package chem

import (
	"slices"
	"time"

	"wetside/sensors/quantity/phrase"
)

// Step is one reason why the time is what it is.
type Step struct {
	// Cause is a few words: "1:48 at 20 °C", "18.4 °C", "62 sheets".
	Cause phrase.Sentence
	// Change is what the cause adds to the time (negative: takes away). The
	// first step, and a step that only notes something, changes nothing.
	Change time.Duration
}

// String is the step as shown: "18.4 °C +14 s".
func (s Step) String() string { return s.sentence().String() }

func (s Step) sentence() phrase.Sentence {
	if s.Change == 0 {
		return s.Cause
	}
	return phrase.Say("%s %+d s", s.Cause, int(s.Change.Round(time.Second)/time.Second))
}

// Recommendation is a development time with its reasons, or a refusal with its
// reason; never both. The zero Recommendation is a refusal.
type Recommendation struct {
	time, low, high time.Duration
	basis           phrase.Sentence
	steps           []Step
	unknown         []phrase.Sentence
	refusal         phrase.Sentence
	timed           bool // an emergence time is in it, which tells the activity as it is
}

// Refused is a recommendation that gives no time, for a reason.
func Refused(reason phrase.Sentence) Recommendation {
	return Recommendation{refusal: reason}
}

// Time is the development time; ok is false when it was refused.
func (r Recommendation) Time() (t time.Duration, ok bool) {
	return r.time, r.Refusal().IsZero()
}

// Interval is the range in which the right time lies with about 95 % coverage,
// from the accuracy of the probe, the strength, the use and the table's rounding.
// Both are zero when the time was refused.
func (r Recommendation) Interval() (low, high time.Duration) { return r.low, r.high }

// LeavesOut says what the interval does not cover: what no probe and no record tells. It is empty for a refusal.
func (r Recommendation) LeavesOut() phrase.Sentence {
	if !r.Refusal().IsZero() {
		return phrase.Sentence{}
	}
	missing := []phrase.Sentence{phrase.Say("the age of the developer"), phrase.Say("oxidation"), phrase.Say("agitation")}
	if r.timed {
		missing = []phrase.Sentence{phrase.Say("agitation")}
	}
	return phrase.Say("not counted: %s", phrase.Join(", ", append(missing, r.unknown...)...))
}

// Basis says in a few words what the time rests on: "table", "general rule
// (unverified)". It is empty for a refusal.
func (r Recommendation) Basis() phrase.Sentence { return r.basis }

// Steps are the reasons in the order they were applied.
func (r Recommendation) Steps() []Step { return slices.Clone(r.steps) }

// Unknown names what was not known and therefore taken as the table has it:
// "strength", "use".
func (r Recommendation) Unknown() []phrase.Sentence { return slices.Clone(r.unknown) }

// Refusal is the reason why there is no time, or empty.
func (r Recommendation) Refusal() phrase.Sentence {
	if r.refusal.IsZero() && r.time <= 0 {
		return phrase.Say("no development time has been worked out")
	}
	return r.refusal
}

// Sentence is the whole answer on one line: "2:10 = 1:48 at 20 °C, 18.4 °C +14 s,
// 62 sheets +8 s", or the refusal.
func (r Recommendation) Sentence() phrase.Sentence {
	if reason := r.Refusal(); !reason.IsZero() {
		return phrase.Say("No time: %s.", reason)
	}
	words := make([]phrase.Sentence, len(r.steps))
	for i, s := range r.steps {
		words[i] = s.sentence()
	}
	return phrase.Say("%s = %s", MinutesSeconds(r.time), phrase.Join(", ", words...))
}
