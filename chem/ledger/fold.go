package ledger

import (
	"cmp"
	"maps"
	"slices"
	"time"

	"wetside/sensors/quantity/phrase"
)

// fold makes a state of the entries in the order in which things happened.
func fold(entries []Entry) (*state, Entry, error) {
	s := newState()
	for _, e := range effective(entries) {
		if err := e.Act.check(s, e); err != nil {
			return nil, e, err
		}
		s.step(e)
	}
	s.markCorrected(entries)
	return s, Entry{}, nil
}

// markCorrected counts a correction as a change of the containers that it is about.
func (s *state) markCorrected(entries []Entry) {
	for _, e := range entries {
		c, ok := e.Act.(Correction)
		if !ok {
			continue
		}
		if at, found := slices.BinarySearchFunc(entries, c.Of, byNumber); found {
			s.changed(e, touches(entries[at].Act))
		}
		if c.Instead != nil {
			s.changed(e, touches(c.Instead))
		}
	}
}

func byNumber(e Entry, number uint64) int { return cmp.Compare(e.Number, number) }

func version(entries []Entry) uint64 {
	if len(entries) == 0 {
		return 0
	}
	return entries[len(entries)-1].Number
}

// numbered says whether the entry comes after those before it.
func numbered(before []Entry, e Entry) error {
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
	var story []Entry
	for _, at := range l.now.story[id] {
		story = append(story, l.now.taken[at])
	}
	return story
}

// Effective lists all entries in the order in which things happened, with corrections
// in the place of what they correct. The list is not to be changed.
func (l *Ledger) Effective() []Entry { return slices.Clip(l.now.taken) }

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
		s.story[id] = append(s.story[id], len(s.taken))
	}
	s.taken = append(s.taken, e)
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
	return &Ledger{settings: l.settings, entries: slices.Clip(l.entries), now: l.now.copy()}
}

// copy shares the lists with the state: what is in them is never changed, and what is added
// to one of two clipped lists is not in the other.
func (s *state) copy() *state {
	c := *s
	c.taken, c.uses, c.flows, c.passes = slices.Clip(s.taken), slices.Clip(s.uses), slices.Clip(s.flows), slices.Clip(s.passes)
	c.drawn, c.notedOrder, c.timed, c.silver = slices.Clip(s.drawn), slices.Clip(s.notedOrder), slices.Clip(s.timed), slices.Clip(s.silver)
	c.open = slices.Clone(s.open)
	c.batches, c.lots, c.sessions = maps.Clone(s.batches), maps.Clone(s.lots), maps.Clone(s.sessions)
	c.failures, c.baselines, c.work, c.noted = maps.Clone(s.failures), maps.Clone(s.baselines), maps.Clone(s.work), maps.Clone(s.noted)
	c.closing = maps.Clone(s.closing)
	c.story = make(map[string][]int, len(s.story))
	for id, places := range s.story {
		c.story[id] = slices.Clip(places)
	}
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
		l.uses = slices.Clip(l.uses) // the maps of a liquid are never changed
		out.Liquid = &l
	}
	return &out
}
