package dashboard

import (
	"cmp"
	"slices"

	"wetside/chem/ledger"
	"wetside/sensors/quantity"
)

// Effective are the records as they hold: corrections put in the place of what they
// correct, in the order in which things happened.
func Effective(records []ShelfRecord) []ShelfRecord {
	said := map[uint64]ledger.Correction{}
	for _, r := range records {
		if c, ok := r.Act.(ledger.Correction); ok {
			said[c.Of] = c
		}
	}
	var valid []ShelfRecord
	for _, r := range records {
		c, corrected := said[r.Number]
		if _, is := r.Act.(ledger.Correction); is || corrected && c.Instead == nil {
			continue
		}
		if corrected {
			r.Act = c.Instead
			if !c.At.IsZero() {
				r.At = c.At
			}
		}
		valid = append(valid, r)
	}
	slices.SortStableFunc(valid, func(a, b ShelfRecord) int { return cmp.Or(a.At.Compare(b.At), cmp.Compare(a.Number, b.Number)) })
	return valid
}

// Fills says for every container that holds something which record filled it when
// it was last empty.
func Fills(records []ShelfRecord) map[string]ShelfRecord {
	t := newTrail()
	for _, r := range Effective(records) {
		t.step(r)
	}
	fills := map[string]ShelfRecord{}
	for id, held := range t.held {
		fills[id] = held.filled
	}
	return fills
}

// historyOf are the records that tell what became of a batch or lot, wherever it was poured.
func historyOf(records []ShelfRecord, id string) []ShelfRecord {
	t := newTrail()
	var story []ShelfRecord
	for _, r := range Effective(records) {
		touched := t.touches(r, id)
		t.step(r)
		if touched || t.touches(r, id) {
			story = append(story, r)
		}
	}
	return story
}

// vanishing is the volume below which a vessel counts as empty.
const vanishing quantity.Millilitre = 1e-6

// trail follows liquids from container to container by what was entered.
type trail struct {
	held map[string]content
	lots map[string]quantity.Millilitre // of one bottle
}

type content struct {
	volume  quantity.Millilitre
	origins []string
	filled  ShelfRecord
}

func newTrail() *trail { return &trail{map[string]content{}, map[string]quantity.Millilitre{}} }

// pour is one flow of an act: out of a container (or of nowhere) into another (or away).
type pour struct {
	from, to string
	volume   quantity.Millilitre // all of it when negative
	origin   string              // of what comes from nowhere
}

const whole quantity.Millilitre = -1

func (t *trail) pours(a ledger.Act) []pour {
	switch a := a.(type) {
	case ledger.LotOpened:
		return []pour{{to: a.Container, volume: t.lots[a.Lot], origin: a.Lot}}
	case ledger.BatchMixed:
		return []pour{{from: a.From, volume: a.ParentVolume}, {to: a.Into, volume: a.ParentVolume + a.Water, origin: a.Batch}}
	case ledger.PortionPoured:
		return []pour{{from: a.From, to: a.To, volume: a.Volume}}
	case ledger.ToppedUp:
		return []pour{{from: a.From, to: a.Container, volume: a.Volume}, {to: a.Container, volume: a.Water}}
	case ledger.Returned:
		return append([]pour{{from: a.From, to: a.To, volume: a.Volume}}, emptied(a.From, a.Emptied)...)
	case ledger.Discarded:
		return append([]pour{{from: a.Container, volume: a.Volume}}, emptied(a.Container, a.Emptied)...)
	case ledger.Merged:
		return []pour{{from: a.From, to: a.Into, volume: whole}}
	case ledger.Promoted:
		return []pour{{from: a.From, to: a.To, volume: whole}}
	case ledger.BottleFound:
		return []pour{{to: a.Container, volume: a.Volume, origin: a.Container}}
	case ledger.WasteCollected:
		return emptied(a.Container, true)
	}
	return nil
}

func emptied(id string, all bool) []pour {
	if !all {
		return nil
	}
	return []pour{{from: id, volume: whole}}
}

func (t *trail) step(r ShelfRecord) {
	if lot, ok := r.Act.(ledger.LotReceived); ok {
		t.lots[lot.Lot] = lot.UnitVolume
	}
	for _, p := range t.pours(r.Act) {
		t.flow(p, r)
	}
}

func (t *trail) flow(p pour, r ShelfRecord) {
	origins := []string{p.origin}
	if p.from != "" {
		from := t.held[p.from]
		origins = from.origins
		if p.volume == whole {
			p.volume = from.volume
		}
		from.volume -= p.volume
		t.held[p.from] = from
		if from.volume < vanishing {
			delete(t.held, p.from)
		}
	}
	if p.to == "" || p.volume < vanishing {
		return
	}
	to, known := t.held[p.to]
	if !known {
		to.filled = r
	}
	to.volume += p.volume
	to.origins = slices.DeleteFunc(slices.Compact(slices.Sorted(slices.Values(slices.Concat(to.origins, origins)))), func(id string) bool { return id == "" })
	t.held[p.to] = to
}

// touches says whether a record is about a liquid, as the trail stands now.
func (t *trail) touches(r ShelfRecord, id string) bool {
	switch a := r.Act.(type) {
	case ledger.LotReceived:
		return a.Lot == id
	case ledger.LotOpened:
		return a.Lot == id
	case ledger.BatchMixed:
		return a.Batch == id || a.Lot == id || t.holds(a.From, id)
	case ledger.TestDone:
		return t.holds(a.Container, id)
	case ledger.SheetsUsed:
		return slices.ContainsFunc(a.Containers, func(c string) bool { return t.holds(c, id) })
	}
	return slices.ContainsFunc(t.pours(r.Act), func(p pour) bool { return t.holds(p.from, id) || t.holds(p.to, id) })
}

func (t *trail) holds(container, id string) bool {
	return slices.Contains(t.held[container].origins, id)
}
