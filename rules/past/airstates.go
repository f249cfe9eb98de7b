package past

import (
	"maps"
	"slices"
	"sort"
	"time"

	"wetside/rules/coverage"
	"wetside/rules/ventilation"
)

// AirState is a time in which the air of a room was in one state, and why.
type AirState struct {
	State ventilation.State
	Cause string // where signs disagree, which sign contradicts which
	From  time.Time
	// To is zero while the state lasts, and where the program stopped in it.
	To time.Time
	// Stopped is set where the program stopped in the state: nobody knows when it ended.
	Stopped bool
	// Next is when another state was seen; zero where none was.
	Next time.Time
}

// Until is when another state was seen next; now where none was.
func (s AirState) Until(now time.Time) time.Time {
	if s.Next.IsZero() {
		return now
	}
	return s.Next
}

// airState goes on with the states of a room by the record of a change.
func (f *Fold) airState(r Entry) {
	e := r.event
	if e == nil || e.To == "" {
		return
	}
	if f.air == nil {
		f.air = map[string][]AirState{}
	}
	list := f.air[r.Room]
	if last := len(list) - 1; last >= 0 {
		list[last].Next = r.At
		if e.From == "" { // the first state after a start
			list[last].Stopped = true
		} else {
			list[last].To = r.At
		}
	}
	f.air[r.Room] = append(list, AirState{State: ventilation.State(e.To), Cause: e.Cause, From: r.At})
}

// AirRooms lists the rooms of which a state of the air is known.
func (f *Fold) AirRooms() []string { return slices.Sorted(maps.Keys(f.air)) }

// Air gives the states of the air of a room that lasted in some part of a time, in order.
func (f *Fold) Air(room string, over coverage.Span) []AirState {
	list := f.air[room]
	first := sort.Search(len(list), func(i int) bool { return list[i].Next.IsZero() || list[i].Next.After(over.From) })
	end := first + sort.Search(len(list)-first, func(i int) bool { return !list[first+i].From.Before(over.To) })
	return slices.Clone(list[first:end])
}

// Disputed gives the times within a span in which the signs of the air of a room disagreed:
// no reading of a flow counts in them.
func (f *Fold) Disputed(room string, over coverage.Span) []coverage.Span {
	var list []coverage.Span
	for _, s := range f.Air(room, over) {
		if s.State == ventilation.Disputed {
			list = append(list, coverage.Span{From: s.From, To: s.Until(over.To)})
		}
	}
	return list
}
