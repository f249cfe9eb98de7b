package ledger

import (
	"maps"
	"slices"

	"wetside/sensors/quantity"
)

// NewKeeping gives an empty ledger that keeps a moment after every so many entries.
func NewKeeping(s Settings, every int) *Ledger {
	l := New(s)
	l.every = every
	return l
}

// Plain is all that the ledger holds, however it lies there: two that hold the same are equal.
func (l *Ledger) Plain() any {
	s := *l.now
	story := map[string][]int{}
	for name, places := range s.story.all() {
		story[name] = plainList(places)
	}
	lists := []any{plainList(l.entries), plainList(s.taken), plainList(s.uses), plainList(s.flows), plainList(s.passes), plainList(s.drawn),
		plainList(s.timed), plainList(s.silver), story, maps.Collect(s.batches.all()), maps.Collect(s.sessions.all())}
	s.taken, s.uses, s.flows, s.passes, s.drawn = list[Entry]{}, list[Use]{}, list[flow]{}, list[pass]{}, list[draw]{}
	s.timed, s.silver = list[timedPrint]{}, list[SilverRecord]{}
	s.story, s.batches, s.sessions = table[list[int]]{}, table[Batch]{}, table[Session]{}
	return append(lists, l.settings, s)
}

func plainList[T any](l list[T]) []T {
	all := slices.Collect(l.backward())
	slices.Reverse(all)
	return all
}

// Account is all liquid that ever came into the room, is held, and went out:
// In = Held + Out, within the rounding of the arithmetic.
type Account struct{ In, Held, Out quantity.Millilitre }

// Account sums up the whole book.
func (l *Ledger) Account() Account {
	a := Account{In: l.now.in, Out: l.now.out}
	for _, id := range sortedKeys(l.now.containers) { // in one order, so that a sum is the same each time
		c := l.now.containers[id]
		if c.Liquid != nil {
			a.Held += c.Liquid.volume
		}
	}
	return a
}
