package chem

import (
	"math"
	"slices"
	"time"

	"wetside/sensors/quantity"
	"wetside/sensors/quantity/phrase"
)

// BathUse is how tired the bath is by count. The zero value is unknown.
type BathUse struct {
	// Used is the area processed in the bath so far.
	Used quantity.SquareMetre
	// Capacity is the area that the bath carries in all.
	Capacity quantity.SquareMetre
	// Slowing is the share by which the time has grown when the capacity is used
	// up, such as 0.2. It is a setting: no published figure was found for prints.
	Slowing float64
	// Words name the use in the steps, such as "62 sheets".
	Words phrase.Sentence
}

func (b BathUse) known() bool {
	return b.Capacity > 0 && b.Used >= 0 && b.Slowing >= 0 && b.Slowing <= 10
}

// useFactor gives h from the area: 1 + slowing x used/capacity. Bromide slows
// development at a growing rate (US Army course SS0509, p. 106), so the straight
// line is taken as good to half of itself.
func useFactor(b BathUse) (effect, error) {
	if b.Used > b.Capacity*(1+1e-9) {
		return effect{}, Refusal{phrase.Say("the bath's capacity is used up (%.0f %%): replace it", float64(b.Used/b.Capacity)*100)}
	}
	added := b.Slowing * float64(b.Used/b.Capacity)
	words := b.Words
	if words.IsZero() {
		words = phrase.Say("%.0f %% of capacity used", float64(b.Used/b.Capacity)*100)
	}
	return effect{ln: math.Log1p(added), off: within(added / 2 / (1 + added)), cause: words}, nil
}

// judgement is the relative standard deviation of one person's call that an image
// has appeared (common practice; it varies between people and in one person).
const judgement = 0.1

// Emergence is the time of first appearance of the image, now and on the fresh
// bath. The zero value is unknown.
type Emergence struct {
	// Fresh was timed on the fresh bath at nominal strength, FreshAt its temperature.
	Fresh   time.Duration
	FreshAt quantity.Celsius
	// Now are the last few times, in any order; their median counts.
	Now []time.Duration
}

func (e Emergence) known() bool {
	return e.Fresh > 0 && len(e.Now) > 0 && !slices.ContainsFunc(e.Now, func(d time.Duration) bool { return d <= 0 })
}

// uncertainty of ln(now/fresh): one fresh call, and a median of n calls, whose
// variance is at most pi/2 times that of a mean.
func (e Emergence) uncertainty() float64 {
	spread := 1.0
	if n := float64(len(e.Now)); n > 2 {
		spread = math.Pi / 2 / n
	} else {
		spread /= n
	}
	return judgement * math.Sqrt(1+spread)
}

// median of one or more times.
func median(times []time.Duration) time.Duration {
	sorted := slices.Sorted(slices.Values(times))
	n := len(sorted)
	return (sorted[(n-1)/2] + sorted[n/2]) / 2
}
