package ledger

import (
	"maps"
	"slices"
)

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
