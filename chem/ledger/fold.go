package ledger

import (
	"cmp"
	"iter"
	"maps"
	"slices"
	"time"

	"wetside/sensors/quantity/phrase"
)

// moment is the ledger as it was after so many entries, the last of them with a number.
type moment struct {
	entries int
	version uint64
	state   *state
}

// keepEvery is how many entries lie between two moments that a ledger keeps, so that the past is
// reached from the nearest one: to take so many entries takes some milliseconds.
const keepEvery = 1000

// keep keeps the present moment when one is due.
func (l *Ledger) keep() {
	if n := l.entries.len(); n%l.every == 0 {
		l.moments = append(l.moments[:len(l.moments):len(l.moments)], moment{n, l.Version(), l.now.copy()})
	}
}

// reach is how far back entries reach: to a time and to an entry that is corrected; zero is not at all.
type reach struct {
	at time.Time
	of uint64
}

func (r *reach) include(e Entry) {
	at := e.At
	if c, is := e.Act.(Correction); is {
		if at = c.At; r.of == 0 || c.Of < r.of {
			r.of = c.Of
		}
	}
	r.at = earlier(r.at, at)
}

// concerns says whether the entries change what was before a moment.
func (r reach) concerns(m moment) bool {
	return r.at.Before(m.state.last) && !r.at.IsZero() || r.of != 0 && r.of <= m.version
}

// fold makes the state of all entries and fresh ones in the order in which things happened: from
// the last moment that is kept of which none of those after it changes anything.
func (l *Ledger) fold(fresh []Entry) (*state, Entry, error) {
	s, entries := l.before(fresh)
	for _, e := range effective(entries) {
		if err := e.Act.check(s, e); err != nil {
			return nil, e, err
		}
		s.step(e)
	}
	s.markCorrected(entries)
	return s, Entry{}, nil
}

// before gives the state at that moment, and the entries since then with the fresh ones.
func (l *Ledger) before(fresh []Entry) (*state, []Entry) {
	var back reach
	for _, e := range fresh {
		back.include(e)
	}
	s, begin, end := newState(), 0, l.entries.len()
	for _, m := range slices.Backward(l.moments) {
		for ; end > m.entries; end-- {
			back.include(l.entries.at(end - 1))
		}
		if !back.concerns(m) {
			s, begin = m.state.copy(), end
			break
		}
	}
	entries := make([]Entry, 0, l.entries.len()-begin+len(fresh))
	for _, e := range l.entries.from(begin) {
		entries = append(entries, e)
	}
	return s, append(entries, fresh...)
}

// markCorrected counts a correction as a change of the containers that it is about.
func (s *state) markCorrected(entries []Entry) {
	for _, e := range entries {
		c, ok := e.Act.(Correction)
		if !ok {
			continue
		}
		if at, found := slices.BinarySearchFunc(entries, c.Of, func(e Entry, number uint64) int { return cmp.Compare(e.Number, number) }); found {
			s.changed(e, touches(entries[at].Act))
		}
		if c.Instead != nil {
			s.changed(e, touches(c.Instead))
		}
	}
}

func version(entries list[Entry]) uint64 {
	if entries.len() == 0 {
		return 0
	}
	return entries.at(entries.len() - 1).Number
}

// numbered says whether the entry comes after those before it.
func numbered(before list[Entry], e Entry) error {
	if e.Number > version(before) {
		return nil
	}
	return Problem{ErrForm, phrase.Say("Entry %d does not come after entry %d", e.Number, version(before)),
		phrase.Say("Number the entries upwards")}
}

// effective applies the corrections and sorts by time; the number decides between equals.
func effective(entries []Entry) []Entry {
	said := make(map[uint64]Correction)
	for _, e := range entries {
		if c, ok := e.Act.(Correction); ok {
			said[c.Of] = c
		}
	}
	var valid []Entry
	for _, e := range entries {
		c, corrected := said[e.Number]
		if _, is := e.Act.(Correction); is || (corrected && c.Instead == nil) {
			continue
		}
		if corrected {
			e.Act = c.Instead
			if !c.At.IsZero() {
				e.At = c.At
			}
		}
		valid = append(valid, e)
	}
	slices.SortStableFunc(valid, func(a, b Entry) int { return cmp.Or(a.At.Compare(b.At), cmp.Compare(a.Number, b.Number)) })
	return valid
}

func (s *state) changed(e Entry, ids []string) {
	for _, id := range ids {
		if c := s.containers[id]; c != nil && e.Number > c.Changed {
			c.Changed, c.ChangedBy = e.Number, e.By
		}
	}
}

// Fill is the entry that filled a container when it was last empty; the zero Fill is none.
type Fill struct {
	Entry uint64
	At    time.Time
	By    string
}

// Story lists what tells of a batch, a lot or a container, in the order in which it
// happened and with corrections in the place of what they correct: wherever the liquid
// was poured, and what was done there while it was in it.
func (l *Ledger) Story(id string) []Entry {
	story := slices.Collect(l.Backwards(id))
	slices.Reverse(story)
	return story
}

// Backwards gives what [Ledger.Story] lists, the last of it first.
func (l *Ledger) Backwards(id string) iter.Seq[Entry] {
	return func(yield func(Entry) bool) {
		places, _ := l.now.story.get(id)
		for at := range places.backward() {
			if !yield(l.now.taken.at(at)) {
				return
			}
		}
	}
}

// Effective gives all entries in the order in which things happened, with corrections
// in the place of what they correct.
func (l *Ledger) Effective() iter.Seq[Entry] {
	return func(yield func(Entry) bool) {
		for _, e := range l.now.taken.all() {
			if !yield(e) {
				return
			}
		}
	}
}

// step takes one entry that has been checked.
func (s *state) step(e Entry) {
	about := e.Act.about()
	concerned := map[string]bool{}
	filled := s.held(about, concerned)
	e.Act.apply(s, e)
	for _, id := range s.held(about, concerned) {
		if !slices.Contains(filled, id) {
			c := s.containers[id]
			c.Filled = Fill{e.Number, e.At, e.By}
			c.LastFill = max(c.LastFill, e.Number)
		}
	}
	for id := range maps.Keys(concerned) {
		places, _ := s.story.get(id)
		places.add(s.taken.len())
		s.story.set(id, places)
	}
	s.taken.add(e)
	if e.At.After(s.last) {
		s.last = e.At
	}
	s.changed(e, touches(e.Act))
}

// held lists those of the names that are containers with something in them, and adds to
// concerned the names and the origins of what the containers hold.
func (s *state) held(names []string, concerned map[string]bool) []string {
	var filled []string
	for _, id := range names {
		concerned[id] = true
		c := s.containers[id]
		if c == nil || c.Liquid == nil {
			continue
		}
		filled = append(filled, id)
		for origin := range c.Liquid.shares {
			concerned[origin] = true
		}
	}
	return filled
}

// Copy is the ledger as it is now. What one of the two takes later changes nothing in the other.
func (l *Ledger) Copy() *Ledger {
	c := *l
	c.entries, c.now, c.moments = l.entries.copy(), l.now.copy(), slices.Clip(l.moments)
	return &c
}

// Near is the ledger as it was at the last moment that is kept before an entry with a number, or
// at it: few entries have to be taken from there.
func (l *Ledger) Near(number uint64) *Ledger {
	near := New(l.settings)
	for i, m := range slices.Backward(l.moments) {
		if m.version <= number {
			near.entries, near.now, near.moments = l.entries.first(m.entries), m.state.copy(), l.moments[:i+1:i+1]
			break
		}
	}
	return near
}

func (s *state) copy() *state {
	c := *s
	c.taken, c.uses, c.flows, c.passes = s.taken.copy(), s.uses.copy(), s.flows.copy(), s.passes.copy()
	c.drawn, c.timed, c.silver = s.drawn.copy(), s.timed.copy(), s.silver.copy()
	for id, places := range s.story.own {
		s.story.own[id] = places.copy() // the table shares it from now on
	}
	c.story, c.batches, c.sessions = s.story.copy(), s.batches.copy(), s.sessions.copy()
	c.notedOrder, c.open = slices.Clip(s.notedOrder), slices.Clone(s.open)
	c.lots, c.areas, c.failures, c.baselines = maps.Clone(s.lots), maps.Clone(s.areas), maps.Clone(s.failures), maps.Clone(s.baselines)
	c.work, c.noted, c.closing = maps.Clone(s.work), maps.Clone(s.noted), maps.Clone(s.closing)
	c.containers = make(map[string]*Container, len(s.containers))
	for id, is := range s.containers {
		c.containers[id] = is.copy()
	}
	return &c
}

func (c *Container) copy() *Container {
	out := *c
	if c.Liquid != nil {
		l := *c.Liquid
		l.uses, l.uncleared = slices.Clip(l.uses), slices.Clip(l.uncleared) // the maps of a liquid are never changed
		out.Liquid = &l
	}
	return &out
}
