package breathing

import (
	"slices"
	"time"

	"wetside/sensors/quantity/phrase"
)

// Tape is a stretch of elapsed time, span after span, on which a concentration
// is known or not. All values are in one unit, ppm or mg/m³, kept by the caller.
type Tape struct {
	spans []span
	notes []phrase.Sentence
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
	t.notes = append(t.notes, phrase.Say("%s counted as unexposed, stated by %s", length, by))
	return t.add(span{length: length, kind: unexposed})
}

func (t *Tape) add(s span) error {
	if s.length <= 0 {
		return phrase.Errorf("a time of %s is not usable: expected more than zero", s.length)
	}
	if s.length > longestGap || t.Length() > longestGap {
		return phrase.Errorf("a time of %s is too long to count: expected at most a year in all", s.length)
	}
	t.spans = append(t.spans, s)
	return nil
}

// Length is the elapsed time of the whole tape.
func (t Tape) Length() time.Duration {
	var sum time.Duration
	for _, s := range t.spans {
		sum += s.length
	}
	return sum
}

// Notes says what was done to the readings to lay them on the tape.
func (t Tape) Notes() []phrase.Sentence { return slices.Clone(t.notes) }

// Sample is one reading of a gas channel, dated when it came.
type Sample struct {
	At time.Time
	Level
}

// Reasons why time on a tape is unknown.
func whyGap() phrase.Sentence { return phrase.Say("no reading") }
func whyBack() phrase.Sentence {
	return phrase.Say("the clock was set back or readings came out of order")
}
func whyEarly() phrase.Sentence { return phrase.Say("before the first reading") }

// longestGap caps a gap on the tape; a year without readings is as unknown as two.
const longestGap = 365 * 24 * time.Hour

// Record lays samples, in the order in which they came, on a tape that ends at a
// given time. Between two samples at most hold apart the mean of both counts;
// over a longer pause nothing is known. Where time runs backwards one hold of
// unknown time is put in, since nobody knows how much passed. A sample that came
// twice counts once; two values for one moment count as the range between them.
func Record(samples []Sample, until time.Time, hold time.Duration) (Tape, error) {
	var t Tape
	if hold <= 0 {
		return t, phrase.Errorf("a reading that holds for %s is not usable: expected more than zero", hold)
	}
	if len(samples) == 0 {
		return t, nil
	}
	last := samples[0]
	for _, s := range append(slices.Clone(samples), Sample{At: until}) {
		end := s.kind == nothing && s.At.Equal(until)
		if err := s.check(); err != nil && !end {
			return Tape{}, phrase.Errorf("reading of %s: %w", s.At.Format(time.RFC3339), err)
		}
		if end {
			s.Level = last.Level
		}
		last = t.lay(last, s, hold)
	}
	return t, nil
}

// lay adds the time between two samples and gives the one to go on from.
func (t *Tape) lay(a, b Sample, hold time.Duration) Sample {
	switch d := b.At.Sub(a.At); {
	case d == 0 && a.Level == b.Level:
		// The first sample, the end, or one that came twice: no time passes.
	case d == 0:
		t.notes = append(t.notes, phrase.Say("two different readings at %s", a.At.Format(time.RFC3339)))
		b.Level = Level{min(a.low, b.low), max(a.high, b.high), mixed(a.kind, b.kind)}
	case d < 0:
		t.notes = append(t.notes, phrase.Say("%s at %s", whyBack(), a.At.Format(time.RFC3339)))
		t.spans = append(t.spans, span{length: hold, why: whyBack()})
	case d > hold:
		t.spans = append(t.spans, span{length: min(d, longestGap), why: whyGap()})
	default:
		t.spans = append(t.spans, span{length: d, low: (a.low + b.low) / 2, high: (a.high + b.high) / 2, kind: mixed(a.kind, b.kind)})
	}
	return b
}

// mixed is the kind of a time between two readings: over range wins, below
// detection only if both are.
func mixed(a, b levelKind) levelKind {
	if a == overRange || b == overRange {
		return overRange
	}
	if a == belowDetection && b == belowDetection {
		return belowDetection
	}
	return measured
}
