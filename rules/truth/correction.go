package truth

import (
	"math"
	"slices"
	"strings"
	"time"

	"wetside/sensors"
	"wetside/sensors/quantity/phrase"
)

// SetCorrection puts a slope and an offset in force from a date on, which may lie in
// the past: a probe that was wrong for two weeks was wrong for two weeks.
type SetCorrection struct {
	Channel sensors.ChannelID `json:"channel"`
	// From is when it holds from; zero means when it was recorded.
	From   time.Time `json:"from,omitzero"`
	Slope  float64   `json:"slope"`
	Offset float64   `json:"offset"`
	// Why says what it rests on.
	Why string `json:"why"`
}

// Correction is a correction of a channel. One of the configuration has no record.
type Correction struct {
	sensors.Correction
	Stamp
	Why string
	// Check is the record of the check that brought it about, zero for another.
	Check uint64
}

func (SetCorrection) Kind() string { return "correction set" }

// Since is that of [FitProbe.Since].
func (a SetCorrection) Since() (at time.Time, within time.Duration) { return a.From, time.Minute }

func (a SetCorrection) What(name func(sensors.ChannelID) string) phrase.Sentence {
	return phrase.Say("the correction of %s applies from its date on up to the next correction, recorded", name(a.Channel))
}

func (a SetCorrection) Texts() []Text { return []Text{{phrase.Say("reason"), a.Why}} }

func (a SetCorrection) channel() sensors.ChannelID { return a.Channel }

// The slopes that a correction may have: beyond them a probe is broken, not off.
const (
	leastSlope = 0.5
	mostSlope  = 2
)

func (a SetCorrection) check(l Life, s Stamp) error {
	switch {
	case !within(a.Slope, leastSlope, mostSlope):
		return phrase.Errorf("the slope is not usable: expected 0.5 to 2, and 1 where only an offset is meant")
	case !within(math.Abs(a.Offset), 0, spread(l.Channel)):
		return phrase.Errorf("the offset is not usable: check the figure and its unit")
	case strings.TrimSpace(a.Why) == "":
		return phrase.Errorf("the reason is missing: write what the correction rests on")
	}
	return checkFrom(a.From, time.Time{}, s)
}

func (a SetCorrection) apply(l Life, s Stamp) Life {
	k := sensors.Correction{From: orRecorded(a.From, s), Slope: a.Slope, Offset: a.Offset}
	return l.corrected(Correction{Correction: k, Stamp: s, Why: a.Why})
}

// corrected is the life with one more correction, in its place by date.
func (l Life) corrected(k Correction) Life {
	l.Corrections = append(slices.Clone(l.Corrections), k)
	slices.SortStableFunc(l.Corrections, func(a, b Correction) int { return a.From.Compare(b.From) })
	now := l.Channel
	now.Corrections = make([]sensors.Correction, len(l.Corrections))
	for i := range l.Corrections {
		now.Corrections[i] = l.Corrections[i].Correction
	}
	l.now = &now
	return l
}

// Recorded are the corrections that people put in force, as readings take them.
func (l Life) Recorded() []sensors.Correction {
	var list []sensors.Correction
	for _, k := range l.Corrections {
		if k.Record > 0 {
			list = append(list, k.Correction)
		}
	}
	return list
}

// InForce is the correction that holds at a date; slope one and no offset when none does.
func (l Life) InForce(at time.Time) Correction {
	for _, k := range slices.Backward(l.Corrections) {
		if !at.Before(k.From) {
			return k
		}
	}
	return Correction{Correction: sensors.Correction{Slope: 1}}
}

// Inherited says whether readings are corrected by what is older than the fitting of the device that is there
// now: it was found for another one.
func (l Life) Inherited(at time.Time) bool {
	k := l.InForce(at)
	now, fitted := l.Fitted()
	return fitted && (k.Slope != 1 || k.Offset != 0) && k.From.Before(now.From)
}

// back is what was read before the correction made it so.
func (k Correction) back(value float64) float64 { return (value - k.Offset) / k.Slope }

// Point is one comparison: what a probe says by itself and what is true.
type Point struct{ Raw, True float64 }

// Through is the slope and the offset by which a probe reads two references.
// The error says why two points are not enough.
func Through(a, b Point) (slope, offset float64, err error) {
	const leastApart = 5 // in the inside unit; nearer points make a slope of their noise (common practice)
	if math.Abs(b.True-a.True) < leastApart || math.Abs(b.Raw-a.Raw) < leastApart {
		return 0, 0, phrase.Errorf("the two references lie too near to each other for a slope: use an offset")
	}
	slope = (b.True - a.True) / (b.Raw - a.Raw)
	if !within(slope, leastSlope, mostSlope) {
		return 0, 0, phrase.Errorf("the slope would be beyond 0.5 to 2: the probe is broken, or a figure is wrong")
	}
	return slope, a.True - slope*a.Raw, nil
}

// twoPoints is within what time an ice point and a comparison belong together.
const twoPoints = 31 * 24 * time.Hour

// Suggested is the correction by the last ice point and the last comparison of the
// device that is fitted now; ok is false when one is missing or they don't belong together.
func (l Life) Suggested() (slope, offset float64, ok bool) {
	last, checked := l.Last()
	if !checked {
		return 0, 0, false
	}
	for _, c := range slices.Backward(l.Checks) {
		if c.Probe != last.Probe || last.At.Sub(c.At) > twoPoints {
			break
		}
		if c.Method == last.Method {
			continue
		}
		slope, offset, err := Through(Point{c.Raw, c.Reference}, Point{last.Raw, last.Reference})
		return slope, offset, err == nil
	}
	return 0, 0, false
}
