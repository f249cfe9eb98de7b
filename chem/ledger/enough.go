package ledger

import (
	"slices"
	"time"

	"wetside/sensors/quantity"
)

// FullEnough is the part of a tray's fill from which the tray counts as filled: a tenth less still
// covers the paper (common practice).
const FullEnough = 0.9

// Need is a tray that is to be filled.
type Need struct {
	Bath    string
	Classes []Class // that the tray can hold; the first is the usual one
	Volume  quantity.Millilitre
}

// Draw is a volume out of one bottle.
type Draw struct {
	Container string
	Volume    quantity.Millilitre
}

// Mixing is a bath made from concentrate: what it takes, and what is there of it.
type Mixing struct {
	Product             string
	Parts               Parts
	Concentrate, OnHand quantity.Millilitre
	Makes               quantity.Millilitre
}

// SupplyVerdict says whether what is in storage fills a tray.
type SupplyVerdict uint8

const (
	InTheTray   SupplyVerdict = iota + 1 // filled already
	Stored                               // bottles that may be poured fill the tray
	StoredTest                           // they do once the ones in doubt have passed their test
	MixedFresh                           // with a bath that is mixed from concentrate on hand
	NotEnough                            // something is missing
	NoDilution                           // concentrate is there, and nobody has said how it is diluted
	NothingHere                          // nothing of the chemistry is in storage
)

// Supply says what fills one tray, before anything is poured.
type Supply struct {
	Need    Need
	Verdict SupplyVerdict
	Held    quantity.Millilitre // in the tray now
	Ready   []Draw              // from bottles that may be poured
	Test    []Draw              // from bottles that need their test first
	Mix     *Mixing             // the rest, from concentrate
	Instead *Mixing             // what takes the place of Test if the test fails; nil where concentrate does not reach
	Missing quantity.Millilitre
	OnHand  quantity.Millilitre // in the tray, in the bottles that it is drawn from, and what the concentrate of Mix makes
}

// Supplies says for each tray in turn whether what is in storage fills it. What one tray takes the
// next one no longer has. Bottles that may be poured come first, then those to be tested, then
// concentrate, opened or not, by the dilution of the catalogue or else of the last mix.
func (l *Ledger) Supplies(needs []Need, now time.Time) []Supply {
	s := supplying{l: l, now: now, taken: map[string]quantity.Millilitre{}, verdicts: map[string]Verdict{}}
	all := make([]Supply, len(needs))
	for i, need := range needs {
		all[i] = s.supply(need)
	}
	return all
}

// supplying keeps what the trays before have taken, by bottle and by product.
type supplying struct {
	l     *Ledger
	now   time.Time
	taken map[string]quantity.Millilitre
	// verdicts are of the bottles that were asked about: each tray asks about the same ones.
	verdicts map[string]Verdict
}

func (s supplying) verdict(id string) Verdict {
	v, known := s.verdicts[id]
	if !known {
		v = s.l.MayPour(id, s.now).Verdict
		s.verdicts[id] = v
	}
	return v
}

func (s supplying) supply(need Need) Supply {
	out := Supply{Need: need}
	if held, ok := s.l.InTray(need.Bath, s.now); ok {
		out.Held, out.OnHand = held.Volume, held.Volume
	}
	rest, enough := need.Volume-out.Held, need.Volume*(1-FullEnough)
	if rest <= enough {
		out.Verdict = InTheTray
		return out
	}
	out.Ready, rest = s.draw(need, Pour, rest)
	out.Verdict = Stored
	if rest > enough {
		if out.Test, rest = s.draw(need, TestFirst, rest); len(out.Test) > 0 {
			out.Verdict = StoredTest
		}
	}
	if rest > enough {
		out.Mix, rest = s.mix(need, rest)
		switch {
		case out.Mix != nil && rest <= enough:
			if len(out.Test) == 0 {
				out.Verdict = MixedFresh
			}
		default:
			out.Verdict, out.Missing = s.lack(need, out), rest
		}
	}
	if tested := total(out.Test); tested > 0 {
		if instead, left := s.mix(need, tested); left <= enough {
			out.Instead = instead
		}
	}
	out.OnHand += s.onHand(out)
	s.reserve(out)
	return out
}

// onHand is what there is of a bath beside its tray, also what tonight leaves.
func (s supplying) onHand(out Supply) (sum quantity.Millilitre) {
	for _, d := range slices.Concat(out.Ready, out.Test) {
		sum += s.l.now.containers[d.Container].Liquid.volume - s.taken[d.Container]
	}
	if out.Mix != nil {
		sum += out.Mix.OnHand / quantity.Millilitre(out.Mix.Parts.fraction())
	}
	return sum
}

// reserve keeps what a tray takes from those that follow. What stands in for a bath that fails its
// test is kept as well: else two trays would count on the same bottle.
func (s supplying) reserve(out Supply) {
	for _, d := range slices.Concat(out.Ready, out.Test) {
		s.taken[d.Container] += d.Volume
	}
	for _, m := range []*Mixing{out.Mix, out.Instead} {
		if m != nil {
			s.taken[m.Product] += m.Concentrate
		}
	}
}

// lack is why a tray is not filled.
func (s supplying) lack(need Need, out Supply) SupplyVerdict {
	for _, product := range s.products(need.Classes) {
		if _, known := s.parts(product); !known {
			return NoDilution
		}
	}
	if out.Held == 0 && len(out.Ready) == 0 && len(out.Test) == 0 && out.Mix == nil {
		return NothingHere
	}
	return NotEnough
}

// draw takes up to rest from stored baths with a verdict, and says what is still to come.
func (s supplying) draw(need Need, verdict Verdict, rest quantity.Millilitre) ([]Draw, quantity.Millilitre) {
	var draws []Draw
	ready, _ := s.l.Stored(need.Classes)
	for _, id := range ready {
		left := s.l.now.containers[id].Liquid.volume - s.taken[id]
		if rest <= need.Volume*(1-FullEnough) || left < trace || s.verdict(id) != verdict {
			continue
		}
		v := min(rest, left)
		draws, rest = append(draws, Draw{id, v}), rest-v
	}
	return draws, rest
}

// mix makes up to rest of a bath from the first product that reaches furthest.
func (s supplying) mix(need Need, rest quantity.Millilitre) (*Mixing, quantity.Millilitre) {
	var best *Mixing
	for _, product := range s.products(need.Classes) {
		parts, known := s.parts(product)
		onHand := s.usable(product) - s.taken[product]
		if !known || onHand < trace {
			continue
		}
		concentrate := min(onHand, rest*quantity.Millilitre(parts.fraction()))
		m := &Mixing{product, parts, concentrate, onHand, concentrate / quantity.Millilitre(parts.fraction())}
		if best == nil || m.Makes > best.Makes {
			best = m
		}
	}
	if best == nil {
		return nil, rest
	}
	return best, rest - best.Makes
}

// parts is how a product is diluted; powder of which no dilution is known makes its bath as it is.
func (s supplying) parts(product string) (Parts, bool) {
	parts, known := s.l.UsualParts(product)
	if known {
		return parts, true
	}
	for _, lot := range s.l.now.lots {
		if lot.Product == product && lot.Powder {
			return Parts{Parent: 1}, true
		}
	}
	return Parts{}, false
}

// products are those of which there is concentrate or powder that may be used.
func (s supplying) products(classes []Class) []string {
	var products []string
	add := func(class Class, id string) {
		if slices.Contains(classes, class) && id != "" && !slices.Contains(products, id) && s.usable(id) > trace {
			products = append(products, id)
		}
	}
	_, mixes := s.l.Stored(classes)
	for _, id := range mixes {
		add(s.l.now.containers[id].Liquid.class, s.l.now.containers[id].Liquid.product)
	}
	for _, id := range sortedKeys(s.l.now.lots) {
		add(s.l.now.lots[id].Class, s.l.now.lots[id].Product)
	}
	return products
}

// usable is what there is of a product in bottles that are not past what they keep: closed ones
// before the date on their pack, opened ones that need not be discarded.
func (s supplying) usable(product string) quantity.Millilitre {
	return s.l.stock(product, func(lot Lot) bool { return !lot.ExpiredBefore(s.now) },
		func(c *Container) bool { return !c.Vessel.Working() && s.verdict(c.ID) != Discard })
}

func total(draws []Draw) quantity.Millilitre {
	sum := quantity.Millilitre(0)
	for _, d := range draws {
		sum += d.Volume
	}
	return sum
}

// ExpiredBefore says whether the lot is past the date on its pack.
func (l Lot) ExpiredBefore(now time.Time) bool { return !l.Expiry.IsZero() && !now.Before(l.Expiry) }

// Stored lists the bottles and carboys with chemistry of the classes: baths at working strength
// that stand ready, and concentrate to mix from.
func (l *Ledger) Stored(classes []Class) (ready, mixes []string) {
	for c := range l.now.vessels() {
		if c.Liquid == nil || c.Vessel.Working() || c.Vessel == WasteContainer || !slices.Contains(classes, c.Liquid.class) {
			continue
		}
		if l.now.sortOf(*c.Liquid) == FromConcentrate {
			mixes = append(mixes, c.ID)
			continue
		}
		ready = append(ready, c.ID)
	}
	return ready, mixes
}

// UsualParts is how a product is diluted: the first dilution of the catalogue or of its label, else
// what it was mixed at last; ok is false where nobody has said.
func (l *Ledger) UsualParts(product string) (Parts, bool) {
	if p := l.product(product); len(p.Dilution) > 0 {
		return Parts{p.Dilution[0].Parent, p.Dilution[0].Water}, true
	}
	mix, ok := l.LastMix(product)
	return mix.Aim, ok
}

// LastMix is the last mix of a product from its concentrate with stated parts.
func (l *Ledger) LastMix(product string) (BatchMixed, bool) {
	for e := range l.now.taken.backward() {
		if mix, is := e.Act.(BatchMixed); is && product != "" && mix.Product == product && mix.Aim.Parent > 0 && mix.Meant == FromConcentrate {
			return mix, true
		}
	}
	return BatchMixed{}, false
}
