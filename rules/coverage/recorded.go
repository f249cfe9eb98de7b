package coverage

import (
	"slices"
	"sort"
	"time"
)

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
