package ledger

import (
	"time"

	"wetside/sensors/quantity"
)

// trace is the volume below which a vessel counts as empty.
const trace quantity.Millilitre = 1e-6

// opens says whether liquid in the vessel stands open to the air when it is not covered.
func (c *Container) opens() bool {
	return c.Vessel == Tray || (c.Vessel == Tank && !c.FloatingLid)
}

// airOut counts the hours in the open up to now into the liquid.
func (c *Container) airOut(now time.Time) {
	if c.Liquid == nil || c.OpenSince.IsZero() || !now.After(c.OpenSince) {
		return
	}
	c.Liquid.open += now.Sub(c.OpenSince).Hours() * float64(c.Liquid.volume)
	c.OpenSince = now
}

// draw takes v out of a container; [state.drawable] has been asked before.
func (s *state) draw(id string, v quantity.Millilitre, at time.Time) Liquid {
	c := s.containers[id]
	c.airOut(at)
	part, rest := c.Liquid.split(v)
	c.LastHeld = c.Liquid.class
	if rest.volume < trace {
		part = *c.Liquid
		c.emptied()
		return part
	}
	c.Liquid = &rest
	return part
}

// put adds liquid to a container; [state.roomFor] has been asked before.
func (s *state) put(id string, l Liquid, at time.Time) {
	c := s.containers[id]
	c.airOut(at)
	if c.Vessel == WasteContainer {
		l, c.added = l.wasted(), at
	}
	if c.Liquid == nil {
		c.Liquid = &l
		if c.opens() && !c.Covered {
			c.OpenSince = at
		}
		if c.Vessel == WasteContainer {
			c.FirstDrop = at
		}
		return
	}
	mixed := join(*c.Liquid, l)
	c.Liquid = &mixed
}

// wasted is the liquid as waste: the volume and the area count, the rest of its history ends here.
func (l Liquid) wasted() Liquid {
	return Liquid{class: l.class, owner: House, volume: l.volume, load: l.load, silver: l.silver, unknown: gaps{true, true, true},
		shares: map[string]quantity.Millilitre{string(l.stream()) + " waste": l.volume}}
}

// emptied takes the lid off as well: nobody pours through one, and what is poured in later
// stands open until somebody enters a lid again.
func (c *Container) emptied() {
	c.rotations = c.Liquid.row.Rotations
	c.Covered = false
	c.Liquid, c.OpenSince, c.FilledFrom, c.FirstDrop, c.Filled = nil, time.Time{}, "", time.Time{}, Fill{}
}

// flowed notes liquid that crossed into or out of a working vessel.
func (s *state) flowed(e Entry, sort flowSort, c *Container, l Liquid) {
	if !c.Vessel.Working() {
		return
	}
	s.flows.add(flow{sort, s.session(e), l.class, l.volume})
}
