// Package breathing sets gas readings against the limits for what people
// breathe: moving averages over samples with gaps, ceilings, action levels and
// the index of a mixture, each with what is not known.
//
// A gap is never zero. Every average is an interval with its coverage, and the
// answer is "can't tell" while a limit lies inside. Limits are rows of data with
// a source and a standing; they are compared in the unit they are published in.
//
// Everything here is pure: no clock, no input or output, no state kept between calls.
package breathing

import (
	"math"
	"slices"
	"sort"
	"time"

	"wetside/sensors/quantity/phrase"
)

// Bound is the openly chosen upper value for time of which nothing is known.
// The zero Bound is no choice and is refused.
type Bound struct {
	kind  boundKind
	value float64
}

type boundKind uint8

const (
	worstObserved boundKind = iota + 1
	fullScale
	unbounded
)

// WorstObserved bounds unknown time by the highest value on the tape: an assumption that
// nothing vouches for, fit for a calculation and not for a verdict.
func WorstObserved() Bound { return Bound{kind: worstObserved} }

// FullScale bounds unknown time by the end of the sensor's range.
func FullScale(v float64) Bound { return Bound{kind: fullScale, value: v} }

// Unbounded says that nothing bounds unknown time: an average that has some is open upwards.
func Unbounded() Bound { return Bound{kind: unbounded} }

// Said says what was chosen.
func (b Bound) Said() phrase.Sentence {
	switch b.kind {
	case worstObserved:
		return phrase.Say("Time without readings counted as zero at the lowest and as the highest value that was read at the highest")
	case fullScale:
		return phrase.Say("Time without readings counted as zero at the lowest and as the end of the sensor's range at the highest")
	case unbounded:
		return phrase.Say("Time without readings counted as zero at the lowest, and without a highest value: the end of the sensor's range " +
			"is not configured")
	default:
		return phrase.Say("no bound chosen")
	}
}

// ErrNoBound says that nobody chose how unknown time is bounded.
var ErrNoBound = phrase.Errorf("choose how time without readings is bounded: by the highest value that was read or by the end of the " +
	"sensor's range")

// Average is a time-weighted average with what is not known about it.
type Average struct {
	Window    time.Duration
	Low, High float64
	// Open is true if the average may lie above High: the sensor was over range,
	// or nothing at all was read.
	Open bool
	// Below is true if every moment was read and read below the detection limit.
	Below bool
	// Coverage is the share of the window with readings, 0 to 1, without the time that counts
	// as zero by a statement, Unexposed.
	Coverage  float64
	Unexposed time.Duration
	Reasons   []phrase.Sentence
	Bound     Bound
}

// Text gives the average as it is shown, in the given unit.
func (a Average) Text(unit string) phrase.Sentence {
	switch {
	case a.Coverage == 0:
		return phrase.Say("no data")
	case a.Below:
		return phrase.Say("below %s %s", figure(a.High), unit)
	case a.Open:
		return phrase.Say("at least %s %s", figure(a.Low), unit)
	case a.High-a.Low <= 1e-9*a.High:
		return phrase.Say("%s %s", figure(a.High), unit)
	}
	low, high := outward(a.Low, a.High)
	return phrase.Say("between %s and %s %s", figure(low), figure(high), unit)
}

// inSteps is the average as it is written in steps: rounded where it is one value, and outward where it is a range.
func (a Average) inSteps(step float64) Average {
	switch {
	case a.Below || a.Coverage == 0:
	case a.High < step && !a.Open && a.High > 0:
		a.High, a.Below = step, true
	case !a.Open && a.High-a.Low <= 1e-9*a.High:
		a.Low, a.High = math.Round(a.Low/step)*step, math.Round(a.High/step)*step
	default:
		a.Low, a.High = math.Floor(a.Low/step+rounding)*step, math.Ceil(a.High/step-rounding)*step
	}
	return a
}

// wide says whether the range is too wide to say anything: its ends are more than ten times apart.
func (a Average) wide() bool { return a.Coverage > 0 && !a.Below && !a.Open && a.High > 10*a.Low }

// Last averages over the window that ends where the tape ends.
func (t Tape) Last(window time.Duration, b Bound) (Average, error) {
	l, err := t.ledger(window, b)
	if err != nil {
		return Average{}, err
	}
	return l.average(t.Length(), window), nil
}

// Worst looks at every window of the tape, wherever it begins: Low and High are
// the highest that any window reaches, coverage and reasons are those of the
// window with the highest High.
func (t Tape) Worst(window time.Duration, b Bound) (Average, error) {
	l, err := t.ledger(window, b)
	if err != nil {
		return Average{}, err
	}
	total := t.Length()
	worst, at := l.average(total, window), total
	low, high, open, below := worst.Low, worst.High, worst.Open, worst.Below
	consider := func(end time.Duration) {
		if end < window || end > total {
			return
		}
		start, stop := l.place(end-window), l.place(end)
		lowest, highest := l.within(start, stop, window)
		told := l.between(start, stop)
		low, open, below = max(low, lowest), open || l.open(told), below && told.below()
		if highest > high {
			high, at, below = highest, end, told.below()
		}
	}
	// A window's average changes direction only where one of its ends meets the end of a span.
	for _, e := range l.ends {
		consider(e)
		consider(e + window)
	}
	if at != total {
		worst = l.average(at, window)
	}
	worst.Low, worst.Open, worst.Below = low, open, below
	return worst, nil
}

// ledger holds running sums at the ends of spans, so that any window is a difference.
type ledger struct {
	spans []span
	ends  []time.Duration
	low   []float64 // value x hours
	high  []float64
	told  []told // up to the begin of each span, and of all
	bound Bound
	upper float64 // value of unknown time
	none  bool    // nothing was read, so nothing bounds
}

// told counts spans of which nothing is known, spans over the range, and those that were read but not
// below the detection limit.
type told struct{ unread, over, above int }

func (t told) and(s span) told {
	switch s.kind {
	case nothing:
		t.unread++
	case overRange:
		t.over, t.above = t.over+1, t.above+1
	case measured:
		t.above++
	}
	return t
}

// below says that every moment was read and read below the detection limit.
func (t told) below() bool { return t.unread == 0 && t.above == 0 }

// open says whether an average over such spans may lie above what it was counted as.
func (l ledger) open(t told) bool {
	return l.none || t.over > 0 || l.bound.kind == unbounded && t.unread > 0
}

// place is a time from the start of the tape with the span in which it lies, the one that ends there at an end.
type place struct {
	at   time.Duration
	span int
	end  bool // it is an end of a span
}

func (l ledger) place(at time.Duration) place {
	i, end := slices.BinarySearch(l.ends, at)
	return place{at, i, end}
}

// between counts the spans that lie in part between two places of the tape.
func (l ledger) between(start, end place) told {
	first := start.span
	if start.end {
		first++
	}
	a, b := l.told[first], l.told[min(end.span+1, len(l.ends))]
	return told{b.unread - a.unread, b.over - a.over, b.above - a.above}
}

// within is what a window averages to at the lowest and at the highest.
func (l ledger) within(start, end place, window time.Duration) (low, high float64) {
	lowEnd, highEnd := l.upTo(end)
	lowStart, highStart := l.upTo(start)
	low = max(lowEnd-lowStart, 0) / window.Hours()
	return low, max((highEnd-highStart+l.upper*max(-start.at, 0).Hours())/window.Hours(), low)
}

func (t Tape) ledger(window time.Duration, b Bound) (ledger, error) {
	if window <= 0 {
		return ledger{}, phrase.Errorf("an averaging window of %s is not usable: expected more than zero", window)
	}
	if b.kind == 0 || b.kind == fullScale && !(b.value > 0) {
		return ledger{}, ErrNoBound
	}
	n := len(t.spans)
	l := ledger{spans: t.spans, ends: make([]time.Duration, 0, n), low: make([]float64, 0, n), high: make([]float64, 0, n),
		told: make([]told, 1, n+1), bound: b, upper: b.value, none: b.kind != fullScale}
	for _, s := range t.spans {
		if s.kind != nothing {
			l.upper, l.none = max(l.upper, s.high), false
		}
	}
	var end time.Duration
	var low, high float64
	for _, s := range t.spans {
		end += s.length
		hours := s.length.Hours()
		low += s.low * hours
		high += l.highest(s) * hours
		l.ends, l.low, l.high = append(l.ends, end), append(l.low, low), append(l.high, high)
		l.told = append(l.told, l.told[len(l.told)-1].and(s))
	}
	return l, nil
}

func (l ledger) highest(s span) float64 {
	if s.kind == nothing {
		return l.upper
	}
	return s.high
}

// upTo gives the sums from the start of the tape to a place on it.
func (l ledger) upTo(p place) (low, high float64) {
	if p.at <= 0 || len(l.ends) == 0 {
		return 0, 0
	}
	i := min(p.span, len(l.ends)-1)
	rest := (l.ends[i] - min(p.at, l.ends[i])).Hours()
	return l.low[i] - rest*l.spans[i].low, l.high[i] - rest*l.highest(l.spans[i])
}

func (l ledger) average(end, window time.Duration) Average {
	a := Average{Window: window, Bound: l.bound, Open: l.none, Below: true}
	start := end - window
	a.Low, a.High = l.within(l.place(start), l.place(end), window)
	known := l.describe(&a, start, end)
	exposed := window - a.Unexposed
	if start < 0 {
		a.Reasons = append(a.Reasons, phrase.Say("before the first reading"))
	}
	if exposed > 0 {
		a.Coverage = float64(known) / float64(exposed)
	}
	a.Open = a.Open || l.bound.kind == unbounded && known < exposed
	a.Below = a.Below && known == exposed
	return a
}

// describe walks the spans within a window: what was read, and why the rest was not.
func (l ledger) describe(a *Average, start, end time.Duration) (known time.Duration) {
	first := sort.Search(len(l.ends), func(i int) bool { return l.ends[i] > start })
	for i := first; i < len(l.spans) && l.ends[i]-l.spans[i].length < end; i++ {
		s := l.spans[i]
		if s.kind == nothing {
			if why := s.why.String(); !slices.ContainsFunc(a.Reasons, func(r phrase.Sentence) bool { return r.String() == why }) {
				a.Reasons = append(a.Reasons, s.why)
			}
			continue
		}
		within := min(l.ends[i], end) - max(l.ends[i]-s.length, start)
		if s.kind == unexposed {
			a.Unexposed += within
			continue
		}
		known += within
		a.Open = a.Open || s.kind == overRange
		a.Below = a.Below && s.kind == belowDetection
	}
	return known
}

// Peak gives the highest reading of the tape as an interval: with a gap it may
// have been as high as the bound. Its window is zero, its coverage that of the
// whole tape.
func (t Tape) Peak(b Bound) (Average, error) {
	total := t.Length()
	if total == 0 {
		return Average{Open: true, Bound: b}, nil
	}
	l, err := t.ledger(total, b)
	if err != nil {
		return Average{}, err
	}
	a := l.average(total, total)
	a.Window, a.Low, a.High = 0, 0, 0
	for _, s := range t.spans {
		a.Low, a.High = max(a.Low, s.low), max(a.High, l.highest(s))
	}
	return a, nil
}

// Statement is what wetside says of itself wherever it speaks of breathing air.
func Statement() phrase.Sentence {
	return phrase.Say("wetside is an aid. It is neither a life-safety device nor a personal breathing-exposure measurement: a probe on " +
		"the wall does not show what a person breathes. Follow local codes, the safety data sheets and qualified advice.")
}
