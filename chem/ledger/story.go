package ledger

import (
	"maps"
	"slices"
	"time"
)

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
