package truth

import (
	"math"

	"wetside/rules/fit"
	"wetside/sensors"
	"wetside/sensors/quantity"
	"wetside/sensors/quantity/phrase"
)

// A step is looked for between two quiet stretches of two minutes with two minutes
// between them, in which a probe has the time to follow: a probe in liquid does
// within a minute (its maker's time constant is some seconds to half a minute, from
// memory), while a tray of two litres takes an hour (common practice).
const (
	quietSlots  = 12
	movingSlots = 12
	leastFilled = 9
	// actSlots is within what time of an entry a step belongs to it.
	actSlots = 60
	// hangSlots is how long a probe has to keep its distance to the air before it counts as hanging there.
	hangSlots = 30
	// lagSlots is by how much one probe of the air may come after another: a minute.
	lagSlots = 6
)

// All in kelvin (common practice for the plain probes of trays).
const (
	quietScatter = 0.12 // of the means of ten seconds
	quietTrend   = 0.15 // over a quiet stretch: a hot-water jacket makes more
	bathsApart   = 0.45 // two baths nearer to each other can't be told apart
	alike        = 0.25
	stepLeast    = 0.35
	jumpLeast    = 1.0
	follows      = 0.1 // of the air, by a probe that hangs in it
	coarse       = 0.2 // a probe of larger steps has to cross surelySteps of them before it can be told to follow anything
	surelySteps  = 2
	unsure       = 0.2 // of the difference of two levels, standard deviation
	// reach is over how many kelvin a level may lie that has nothing to do with another one.
	reach = 10
)

// level is a quiet stretch.
type level struct {
	mean, slope  float64 // slope for a slot
	off          float64 // standard error of the slope
	quiet, known bool
	settles      bool // it scatters as little as a quiet one, and comes nearer to zero
}

// level is that of the slots from one on.
func (t *track) level(from int64) level {
	return levelOf(from, func(n int64) (float64, bool) { return t.slotAt(n) })
}

// slotAt is the mean of a slot, if anything was read in it.
func (t *track) slotAt(n int64) (float64, bool) {
	s := t.slots[((n%keptSlots)+keptSlots)%keptSlots]
	return s.sum / float64(max(1, s.n)), s.number == n && s.n > 0
}

// apart is the level of the difference of two channels.
func (t *track) apart(other *track, from int64) level {
	return levelOf(from, func(n int64) (float64, bool) {
		a, ok := t.slotAt(n)
		b, also := other.slotAt(n)
		return a - b, ok && also
	})
}

// levelOf is that of a quiet stretch of slots from one on.
func levelOf(from int64, at func(int64) (float64, bool)) level {
	var x, y []float64
	for n := from; n < from+quietSlots; n++ {
		if v, known := at(n); known {
			x, y = append(x, float64(n-from)), append(y, v)
		}
	}
	line, ok := fit.Regress(x, y)
	if !ok || len(x) < leastFilled {
		return level{}
	}
	mean, scatter := fit.MeanStdDev(y)
	little := scatter <= quietScatter
	return level{mean: mean, slope: line.Slope, off: line.SlopeError, known: true, settles: little && mean*line.Slope < 0,
		quiet: little && math.Abs(line.Slope)*quietSlots <= quietTrend}
}

// edge is a pair of quiet stretches: before the time of moving, and after it up to now.
type edge struct {
	before, after level
	from          int64 // the first slot of the time of moving
}

func (w *Watch) edge(t *track) edge {
	from := w.slot - quietSlots - movingSlots
	return edge{t.level(from - quietSlots), t.level(from + movingSlots), from}
}

func (e edge) quiet() bool { return e.before.quiet && e.after.quiet }

// calm says whether the stretch before was quiet, or drifted by far less than what came after it.
func (e edge) calm() bool {
	const far, lag = 5, quietSlots + movingSlots
	return e.before.quiet || e.before.known && math.Abs(e.moved()) >= far*lag*math.Abs(e.before.slope)
}

func (e edge) moved() float64 { return e.after.mean - e.before.mean }

// air is the channel of the room's air, nil when there is none.
func (w *Watch) air() *track {
	for _, id := range w.order {
		if t := w.tracks[id]; t.channel.Kind == sensors.AirTemperature {
			return t
		}
	}
	return nil
}

// suspicion is a step that waits: what explains it may be entered a little later, and
// what a probe does next tells where it is.
type suspicion struct {
	Finding
	channel sensors.Channel
	step    edge
	apart   float64 // from the air after the step
	follows float64 // within what distance it follows the air, where it does
	inAir   bool
	jumped  bool  // far enough, and quiet since
	begun   int64 // the slot in which it was seen
}

// resolution is the smallest step that the probe of a channel has shown, in the inside unit.
func (t *track) resolution() float64 {
	u := t.channel.Unit
	return math.Abs(u.ToBase(t.live.step) - u.ToBase(0))
}

// fine says whether a probe shows steps small enough to be compared with another's.
func (t *track) fine() bool { return t.resolution() <= coarse }

// follows is within what distance the probe of a channel would follow the air.
func (t *track) follows() float64 {
	if t.fine() {
		return follows
	}
	return follows + t.resolution()/2
}

// hurried says whether a value crossed two of its steps within a minute between two slots, or fell by them within three: a
// jacket of hot water takes longer over one of half a kelvin, and nothing cools a tray as fast.
func (t *track) hurried(from, to int64) bool {
	const minute, least = 6, 0.9 // of the steps: a slot may hold some readings of a third one
	steps := least * surelySteps * t.resolution()
	for n := from - minute; n+minute <= to; n++ {
		first, known := t.slotAt(n)
		soon, also := t.slotAt(n + minute)
		later, still := t.slotAt(n + 3*minute)
		if known && (also && math.Abs(soon-first) >= steps || still && first-later >= steps) {
			return true
		}
	}
	return false
}

// stepped looks at one bath for a step that no entry explains.
func (w *Watch) stepped(t *track, now sensors.Instant) (suspicion, bool) {
	e, step := w.edge(t), t.resolution()
	if t.empty || !e.calm() || !e.after.known || math.Abs(e.moved()) < stepLeast+step || w.acted(t.channel.ID, e.from-actSlots, w.slot) {
		return suspicion{}, false
	}
	x := suspicion{Finding: Finding{What: Jump, Channels: []sensors.ChannelID{t.channel.ID}, From: wallAt(e.from, now)},
		channel: t.channel, step: e, begun: w.slot, follows: t.follows()}
	if a, ok := w.airEdge(); ok {
		apart := t.apart(w.air(), w.slot-quietSlots)
		x.apart = apart.mean
		if math.Abs(e.before.mean-a.before.mean) <= alike+lagSlots*math.Abs(a.before.slope) {
			return suspicion{}, false // it lay in the air: it comes back, into a tray or one that was just filled, or goes with it
		}
		x.inAir = apart.known && (apart.quiet || apart.settles) && math.Abs(x.apart) <= alike
		if !t.fine() {
			x.inAir = apart.known && math.Abs(x.apart) <= alike+step/2 && t.hurried(e.from, w.slot)
		}
	}
	x.jumped = e.after.quiet && math.Abs(e.moved()) >= jumpLeast+2*step
	return x, x.inAir || x.jumped
}

// airEdge is what the room's air did meanwhile.
func (w *Watch) airEdge() (edge, bool) {
	air := w.air()
	if air == nil {
		return edge{}, false
	}
	e := w.edge(air)
	return e, e.before.known && e.after.known
}

// suspect adds what has just stepped, and gives what has waited long enough.
func (w *Watch) suspect(t *track, now sensors.Instant) []Finding {
	id := t.channel.ID
	if x, ok := w.stepped(t, now); ok {
		if first, waits := w.suspicions[id]; !waits || x.inAir && !first.inAir {
			w.suspicions[id] = x
		} else if first.inAir && x.inAir { // by now it has come nearer to the air
			first.apart = x.apart
			w.suspicions[id] = first
		}
	}
	x, waits := w.suspicions[id]
	if !waits {
		return nil
	}
	f, done := w.resolve(x, t, now)
	if done {
		delete(w.suspicions, id)
	}
	return f
}

// resolve says what a step was, once that can be told.
func (w *Watch) resolve(x suspicion, t *track, now sensors.Instant) (found []Finding, done bool) {
	if t.empty || w.acted(x.channel.ID, x.step.from-actSlots, w.slot) {
		return nil, true
	}
	level := t.level(w.slot - quietSlots)
	back := level.quiet && math.Abs(level.mean-x.step.before.mean) <= alike
	hangs := false
	if air := w.air(); air != nil {
		apart, drift := t.apart(air, w.slot-quietSlots), air.level(w.slot-quietSlots).slope
		x.follows += lagSlots * max(0, -drift) // in air that warms up a warmed bath comes as near to it
		hangs = apart.known && min(math.Abs(apart.mean-x.apart), math.Abs(apart.mean)) <= x.follows
	}
	switch {
	case x.inAir && back:
		f := x.outOfBath(phrase.Say("%s followed the room air for some minutes, then returned: its probe was lifted out "+
			"of the liquid.", x.channel.Name), true)
		f.To = wallAt(w.slot-quietSlots, now)
		return []Finding{f}, true
	case x.inAir && hangs && w.slot >= x.begun+hangSlots:
		return []Finding{x.outOfBath(phrase.Say("%s left %s within two minutes and has followed the room air since: its probe may "+
			"be out of the liquid.", x.channel.Name, quantity.Celsius(x.step.before.mean).To(0.1)), false)}, true
	case w.slot < x.begun+actSlots:
		return nil, false
	case back || !x.jumped:
		return nil, true
	}
	return []Finding{x.jump()}, true
}

func (x suspicion) jump() Finding {
	f := x.Finding
	f.What, f.Confidence = Jump, certain(normalOdds(0, x.step.moved()))
	f.Text = phrase.Say("%s moved by %s within two minutes and stayed there; no entry explains the change.", x.channel.Name,
		quantity.Celsius(x.step.moved()).To(0.1).Change())
	f.Basis = phrase.Say("a tray of liquid takes an hour or so for what this took at most two minutes for: either the probe is wrong, or " +
		"what it stands in was changed")
	return f
}

// outOfBath weighs two stories against that of a probe in the air: it is where it was;
// or something else ended near the air by chance, and came back by chance as well.
func (x suspicion) outOfBath(text phrase.Sentence, back bool) Finding {
	f, chance := x.Finding, 2.0*(alike+x.follows-follows)/reach
	basis := phrase.Say("it has kept to the air, or to its distance from it, to within %s since, which a bath does not",
		quantity.Celsius(x.follows).To(0.01).Gap())
	if back {
		chance *= chance
		basis = phrase.Say("it came back to within %s of where it was", quantity.Celsius(alike).To(0.01).Gap())
	}
	f.What, f.Text, f.Confidence = OutOfBath, text, certain(normalOdds(x.apart, x.step.moved())+chance)
	f.Basis = phrase.Say("after the step it lay %s from the air and %s from where the bath was; %s; that another cause does the same has "+
		"a chance of %.1f in 100",
		quantity.Celsius(math.Abs(x.apart)).To(0.1).Gap(), quantity.Celsius(math.Abs(x.step.moved())).To(0.1).Gap(), basis, 100*chance)
	return f
}

// normalOdds are the odds of a large miss against a small one, where both scatter as [unsure].
func normalOdds(small, large float64) float64 {
	return math.Exp((small*small - large*large) / (2 * unsure * unsure))
}

// exchanged looks for two baths that took on each other's level at the same time.
func (w *Watch) exchanged(now sensors.Instant) []Finding {
	var found []Finding
	for i, a := range w.order {
		if !stepwise(w.tracks[a].channel) || w.tracks[a].empty {
			continue
		}
		first := w.edge(w.tracks[a])
		if !first.quiet() || math.Abs(first.moved()) < bathsApart || w.acted(a, first.from-actSlots, w.slot) {
			continue
		}
		for _, b := range w.order[i+1:] {
			if f, ok := w.swapped(w.tracks[a], w.tracks[b], now); ok {
				found = append(found, f)
			}
		}
	}
	return append(found, w.misplaced(now)...)
}

func (w *Watch) swapped(a, b *track, now sensors.Instant) (Finding, bool) {
	if !stepwise(b.channel) || b.empty || !a.fine() || !b.fine() {
		return Finding{}, false
	}
	x, y := w.edge(a), w.edge(b)
	missed := max(math.Abs(x.after.mean-y.before.mean), math.Abs(y.after.mean-x.before.mean))
	if !y.quiet() || missed > alike || w.acted(b.channel.ID, y.from-actSlots, w.slot) {
		return Finding{}, false
	}
	chance := 2 * alike / reach
	return Finding{What: Exchanged, Channels: []sensors.ChannelID{a.channel.ID, b.channel.ID}, From: wallAt(x.from, now),
		Confidence: certain(normalOdds(missed, x.moved()) + chance*chance),
		Text: phrase.Say("%s and %s took on each other's temperature within two minutes (%s and %s): their probes may have been exchanged.",
			a.channel.Name, b.channel.Name, quantity.Celsius(x.after.mean).To(0.1).Bare(), quantity.Celsius(y.after.mean).To(0.1)),
		Basis: phrase.Say("each now reads what the other did, to within %s; that two steps of other causes do so has a chance of %.1f in 100",
			quantity.Celsius(missed).To(0.1).Gap(), 100*chance*chance)}, true
}
