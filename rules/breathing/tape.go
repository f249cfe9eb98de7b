package breathing

import (
	"time"

	"wetside/sensors/quantity/phrase"
)

// Tape is a stretch of elapsed time, span after span, on which a concentration
// is known or not. All values are in one unit, ppm or mg/m³, kept by the caller.
type Tape struct {
	spans  []span
	length time.Duration // of all of them
}

type span struct {
	length    time.Duration
	low, high float64
	kind      levelKind       // nothing: not known
	why       phrase.Sentence // why nothing is known
}

// Sampled adds a time with a known level.
func (t *Tape) Sampled(length time.Duration, l Level) error {
	if err := l.check(); err != nil {
		return err
	}
	return t.add(span{length: length, low: l.low, high: l.high, kind: l.kind})
}

// Unsampled adds a time of which nothing is known, and why.
func (t *Tape) Unsampled(length time.Duration, why phrase.Sentence) error {
	return t.add(span{length: length, why: why})
}

// Unexposed adds a time spent where the agent is not: it counts as zero, and
// only because somebody vouches for it.
func (t *Tape) Unexposed(length time.Duration, by string) error {
	if by == "" {
		return phrase.Errorf("time without breathing exposure counts as zero only when somebody vouches for it: give a name")
	}
	return t.add(span{length: length, kind: unexposed})
}

func (t *Tape) add(s span) error {
	if s.length <= 0 {
		return phrase.Errorf("a time of %s is not usable: expected more than zero", s.length)
	}
	if s.length > longestGap || t.length > longestGap {
		return phrase.Errorf("a time of %s is too long to count: expected at most a year in all", s.length)
	}
	t.spans, t.length = append(t.spans, s), t.length+s.length
	return nil
}

// Length is the elapsed time of the whole tape.
func (t Tape) Length() time.Duration { return t.length }

func whyEarly() phrase.Sentence { return phrase.Say("before the first reading") }

// longestGap caps a gap on the tape; a year without readings is as unknown as two.
const longestGap = 365 * 24 * time.Hour
