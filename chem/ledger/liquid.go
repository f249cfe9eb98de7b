package ledger

import (
	"maps"
	"slices"
	"time"

	"wetside/chem"
	"wetside/sensors/quantity"
	"wetside/sensors/quantity/phrase"
)

// Load is the area that a liquid has processed, by material.
type Load struct {
	ResinCoated quantity.SquareMetre `json:"resin_coated_m2"`
	FibreBased  quantity.SquareMetre `json:"fibre_based_m2"`
	Film        quantity.SquareMetre `json:"film_m2"`
}

// Total is the area of all materials together.
func (l Load) Total() quantity.SquareMetre { return l.ResinCoated + l.FibreBased + l.Film }

// Of gives the area of one material.
func (l Load) Of(m Material) quantity.SquareMetre {
	switch m {
	case ResinCoated:
		return l.ResinCoated
	case FibreBased:
		return l.FibreBased
	}
	return l.Film
}

func (l Load) plus(o Load) Load {
	return Load{l.ResinCoated + o.ResinCoated, l.FibreBased + o.FibreBased, l.Film + o.Film}
}

func (l Load) times(f float64) Load {
	k := quantity.SquareMetre(f)
	return Load{l.ResinCoated * k, l.FibreBased * k, l.Film * k}
}

func loadOf(m Material, area quantity.SquareMetre) Load {
	switch m {
	case ResinCoated:
		return Load{ResinCoated: area}
	case FibreBased:
		return Load{FibreBased: area}
	}
	return Load{Film: area}
}

// Result is the last result of one kind of test on a liquid.
type Result struct {
	At     time.Time
	Passed bool
	Words  phrase.Sentence
	// Seconds of a clearing test, and those of the fresh bath; both zero for any other.
	Seconds, FreshSeconds float64

	before done
}

// done is what a liquid had done before a test.
type done struct{ load, led, followed Load }

func (d done) plus(o done) done {
	return done{d.load.plus(o.load), d.led.plus(o.led), d.followed.plus(o.followed)}
}

// gaps says which properties of a liquid nobody knows.
type gaps struct{ age, strength, aim bool }

func (g gaps) or(o gaps) gaps {
	return gaps{g.age || o.age, g.strength || o.strength, g.aim || o.aim}
}

// Liquid is what is in a container, with its whole history. Every property
// that mixes is kept as a sum over its millilitres, so that dividing and
// joining conserve it.
type Liquid struct {
	class   Class
	product string
	owner   Owner
	volume  quantity.Millilitre
	shares  map[string]quantity.Millilitre // by batch or lot
	parts   map[string]float64             // what they are of the volume, once somebody asked

	strength, aim float64 // fraction of the concentrate or powder stock x mL: as it is, as it was meant
	spread        float64 // plus-or-minus of the strength, likewise; of what is joined they add up
	made          float64 // Unix seconds x mL
	open          float64 // hours in an open tray x mL
	oldest        time.Time
	unknown       gaps

	load     Load
	silver   SilverArea
	row      FixingRow
	passLoad quantity.SquareMetre // part of the load that came before the last pass
	lastPass time.Time            // of a fixing test; zero when there was none
	uses     []int                // places in state.uses since the last pass
	// uncleared are those since the bath last showed that it fixes: it cleared film in time or, where nobody timed that
	// when it was fresh, its iodide test stayed clear.
	uncleared []int
	tests     map[TestKind]Result
}

// scaled is the fraction f of the liquid, with v millilitres of it.
func (l Liquid) scaled(f float64, v quantity.Millilitre) Liquid {
	part := l
	part.volume, part.parts = v, nil
	part.shares = make(map[string]quantity.Millilitre, len(l.shares))
	for id, share := range l.shares {
		part.shares[id] = share * quantity.Millilitre(f)
	}
	part.strength, part.spread, part.aim = l.strength*f, l.spread*f, l.aim*f
	part.made, part.open = l.made*f, l.open*f
	part.load, part.passLoad = l.load.times(f), l.passLoad*quantity.SquareMetre(f)
	part.silver, part.row = l.silver.times(f), l.row.times(f)
	part.tests, part.uses, part.uncleared = maps.Clone(l.tests), slices.Clone(l.uses), slices.Clone(l.uncleared)
	for kind, r := range part.tests {
		r.before = done{r.before.load.times(f), r.before.led.times(f), r.before.followed.times(f)}
		part.tests[kind] = r
	}
	return part
}

// share is how strong the liquid is, as a part of its origin. Nothing is stronger than its origin: what is more comes
// of rounding, a little at each pour.
func (l Liquid) share() chem.Strength { return min(1, chem.Strength(l.strength/float64(l.volume))) }

func (l Liquid) aimed() chem.Strength { return min(1, chem.Strength(l.aim/float64(l.volume))) }

// split takes v out of the liquid and gives what was taken and what is left; v is at most the volume.
func (l Liquid) split(v quantity.Millilitre) (part, rest Liquid) {
	f := float64(v / l.volume)
	return l.scaled(f, v), l.scaled(1-f, l.volume-v)
}

// shrunk is the liquid after the rest evaporated or was carried over: the
// history stays whole with the v millilitres that are left, which errs on the
// side of too much use.
func (l Liquid) shrunk(v quantity.Millilitre) Liquid {
	kept := l.scaled(float64(v/l.volume), v)
	kept.load, kept.passLoad, kept.silver, kept.row = l.load, l.passLoad, l.silver, l.row
	kept.tests = maps.Clone(l.tests)
	return kept
}

// join mixes b into a by volume. What was meant stays what was meant for a: a
// top-up with concentrate makes it stronger, not meant to be stronger.
func join(a, b Liquid) Liquid {
	mix := a.scaled(1, a.volume+b.volume)
	for id, share := range b.shares {
		mix.shares[id] += share
	}
	if mix.product != b.product {
		mix.product = ""
	}
	if b.owner.private() {
		mix.owner = b.owner
	}
	mix.strength, mix.spread, mix.made = a.strength+b.strength, a.spread+b.spread, a.made+b.made
	mix.open, mix.oldest, mix.unknown = a.open+b.open, earlier(a.oldest, b.oldest), a.unknown.or(b.unknown)
	mix.aim, mix.unknown.aim = a.aim*float64(mix.volume/a.volume), a.unknown.aim
	mix.load, mix.passLoad = a.load.plus(b.load), a.passLoad+b.passLoad
	mix.silver, mix.row = a.silver.plus(b.silver), a.row.plus(b.row)
	mix.lastPass = earlierPass(a, b)
	mix.uses, mix.uncleared = union(a.uses, b.uses), union(a.uncleared, b.uncleared)
	mix.tests = joinTests(a, b)
	return mix
}

// joinTests keeps a fail of either; a pass stands only when the other part
// passed as well or has never been used.
func joinTests(a, b Liquid) map[TestKind]Result {
	joined := map[TestKind]Result{}
	for _, kind := range TestKinds() {
		ra, okA := a.tests[kind]
		rb, okB := b.tests[kind]
		switch {
		case okA && okB:
			last := worse(ra, rb)
			last.before = ra.before.plus(rb.before)
			joined[kind] = last
		case okA && (!ra.Passed || b.unused()):
			joined[kind] = ra
		case okB && (!rb.Passed || a.unused()):
			joined[kind] = rb
		}
	}
	return joined
}

// worse is the fail of two results, or the older of two alike.
func worse(a, b Result) Result {
	if a.Passed != b.Passed {
		if a.Passed {
			return b
		}
		return a
	}
	if b.At.Before(a.At) {
		return b
	}
	return a
}

func (l Liquid) withWater(v quantity.Millilitre) Liquid {
	if v == 0 {
		return l
	}
	mix := l.scaled(1, l.volume+v)
	f := mix.volume / l.volume
	for id := range mix.shares {
		mix.shares[id] *= f
	}
	mix.made, mix.open = l.made*float64(f), l.open*float64(f)
	// What was meant keeps its strength for each millilitre; water does not add to it.
	mix.aim = l.aim * float64(f)
	return mix
}

// stream is the waste that the liquid goes into. Used wash aid carries fixer over, and silver with it,
// though the wash behind it is not silver-rich (City of Dallas, silver practices).
func (l Liquid) stream() Stream {
	if l.class == WashAid && l.load.Total() > 0 {
		return SilverStream
	}
	return l.class.Stream()
}

func (l Liquid) unused() bool { return l.load == Load{} && !l.unknown.age && l.class != UnknownClass }

// dated sets the whole liquid to have been made at one time.
func (l Liquid) dated(at time.Time) Liquid {
	l.made, l.oldest, l.unknown.age = float64(at.Unix())*float64(l.volume), at, false
	return l
}

// density is the processed area in square metres a litre.
func (l Liquid) density() float64 { return float64(l.load.Total()) / (float64(l.volume) / 1000) }

func (l Liquid) origins() []string { return slices.Sorted(maps.Keys(l.shares)) }

func earlier(a, b time.Time) time.Time {
	if a.IsZero() || (!b.IsZero() && b.Before(a)) {
		return b
	}
	return a
}

// earlierPass is the last pass that holds for both parts: none when a part that was used never passed.
func earlierPass(a, b Liquid) time.Time {
	switch {
	case b.unused():
		return a.lastPass
	case a.unused():
		return b.lastPass
	case a.lastPass.IsZero() || b.lastPass.IsZero():
		return time.Time{}
	}
	return earlier(a.lastPass, b.lastPass)
}

func union(a, b []int) []int {
	all := slices.Concat(a, b)
	slices.Sort(all)
	return slices.Compact(all)
}
