package ledger

import (
	"slices"
	"time"

	"wetside/sensors/quantity"
)

// Share is a batch or lot in a liquid.
type Share struct {
	Origin string
	Volume quantity.Millilitre
}

// Contents is what a container holds at a time.
type Contents struct {
	Container string
	Bath      string
	Class     Class
	Product   string
	Owner     Owner // of a private part when there is one
	Volume    quantity.Millilitre
	Shares    []Share
	Strength  *float64 // fraction of the concentrate or powder stock; nil when not known
	// StrengthSpread is the relative plus-or-minus of Strength, as far as the graduates tell it.
	StrengthSpread float64
	AimStrength    *float64  // what was meant; nil when not stated
	Made           time.Time // averaged by volume; zero when not known
	Oldest         time.Time // the oldest part; zero when not known
	OpenHours      float64   // in an open tray
	Load           Load
	Silver         SilverArea
	Row            FixingRow
	Stream         Stream // of the waste that it goes into
	SilverBearing  bool
	Tests          map[TestKind]Result
}

// Container gives a copy of what is known of a container.
func (l *Ledger) Container(id string) (Container, bool) {
	c, ok := l.now.containers[id]
	if !ok {
		return Container{}, false
	}
	return c.clone(), true
}

// Containers lists the names of all containers.
func (l *Ledger) Containers() []string { return sortedKeys(l.now.containers) }

// Batch gives what is known of a batch.
func (l *Ledger) Batch(id string) (Batch, bool) {
	b, ok := l.now.batches.get(id)
	b.Parents = slices.Clone(b.Parents)
	return b, ok
}

// Batches lists the names of all batches.
func (l *Ledger) Batches() []string { return l.now.batches.names() }

// Lot gives what is known of a lot.
func (l *Ledger) Lot(id string) (Lot, bool) {
	lot, ok := l.now.lots[id]
	return lot, ok
}

// Session gives what is known of a session.
func (l *Ledger) Session(id string) (Session, bool) {
	s, ok := l.now.sessions.get(id)
	return s.clone(), ok
}

func (s Session) clone() Session {
	s.People = slices.Clone(s.People)
	return s
}

// Uses lists what went through the baths, in the order in which it happened.
func (l *Ledger) Uses() []Use {
	all := make([]Use, l.now.uses.len())
	for i, u := range l.now.uses.all() {
		all[i] = cloneUse(u)
	}
	return all
}

// Contents gives what a container holds at a time; false when it is empty or not known.
func (l *Ledger) Contents(id string, now time.Time) (Contents, bool) {
	held, ok := l.now.containers[id]
	if !ok || held.Liquid == nil {
		return Contents{}, false
	}
	c := held.clone()
	c.airOut(now)
	return c.contents(), true
}

// InTray gives what is in the tray or tank that serves a bath; false when it is empty.
func (l *Ledger) InTray(bath string, now time.Time) (Contents, bool) {
	for c := range l.now.vessels() {
		if c.Bath == bath && c.Vessel.Working() && c.Liquid != nil {
			return l.Contents(c.ID, now)
		}
	}
	return Contents{}, false
}

// LastFill is the entry that filled the tray or tank of a bath last, whether or not it was
// emptied since; 0 for none.
func (l *Ledger) LastFill(bath string) uint64 {
	last := uint64(0)
	for _, c := range l.now.containers {
		if c.Bath == bath && c.Vessel.Working() {
			last = max(last, c.LastFill)
		}
	}
	return last
}

func (c Container) contents() Contents {
	q, v := c.Liquid, float64(c.Liquid.volume)
	out := Contents{Container: c.ID, Bath: c.Bath, Class: q.class, Product: q.product, Owner: q.owner, Volume: q.volume,
		OpenHours: q.open / v, Load: q.load, Silver: q.silver, Row: q.row, Stream: q.stream(), SilverBearing: q.stream() == SilverStream,
		Tests: q.tests}
	for _, id := range q.origins() {
		out.Shares = append(out.Shares, Share{id, q.shares[id]})
	}
	if !q.unknown.strength {
		s := q.strength / v
		out.Strength, out.StrengthSpread = &s, q.spread/q.strength // what is known was mixed from something
	}
	if !q.unknown.aim {
		s := q.aim / v
		out.AimStrength = &s
	}
	if !q.unknown.age {
		out.Made, out.Oldest = q.meanMade(), q.oldest
	}
	return out
}
