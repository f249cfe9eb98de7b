package truth

import (
	"math"

	"wetside/sensors"
	"wetside/sensors/quantity/phrase"
)

const (
	// longestPlug is the longest pause over which a level is compared with the one before.
	longestPlug = 30 // slots
	// againSlots is after how many more a step has to be there still: what happens at the end of
	// the stretch that is compared is not what a plug made.
	againSlots = 6
	// plugTimes is by how much a step has to be larger than the root mean square of the
	// changes of the last hour over the same time, othersTimes by how much the change of
	// another channel is larger where the air itself has changed.
	plugTimes   = 5
	othersTimes = 3
	// stillTimes is by how much it has to be larger againSlots later: over a longer time more is usual.
	stillTimes = 3
	// plugSteps is how many steps worth showing it has to be larger than. A value that
	// stands between two steps of its probe changes by none or by a whole one: stepShare of
	// them is the least that counts as usual.
	plugSteps = 1
	stepShare = 0.25
)

// replugged says whether a value stepped in the minute in which its plug was pulled: the
// probe came back with another zero.
func (w *Watch) replugged(t *track, now sensors.Instant) (Finding, bool) {
	if t.plugged == 0 || w.slot < t.plugged+quietSlots+1+againSlots {
		return Finding{}, false
	}
	from, to := t.unplugged-quietSlots, t.plugged+1
	t.plugged = 0
	if to-from > longestPlug+quietSlots || w.acted(t.channel.ID, from-actSlots, w.slot) {
		return Finding{}, false
	}
	c, again := t.changed(from, to), t.changed(from, to+againSlots)
	if c.times < plugTimes || again.times < stillTimes || math.Abs(c.moved) < plugSteps*t.channel.Resolution || t.restless(c) ||
		w.otherMoved(t, from, to) {
		return Finding{}, false
	}
	f := Finding{What: Jump, Channels: []sensors.ChannelID{t.channel.ID}, From: wallAt(t.unplugged, now),
		Confidence: certain(1 / (c.times * c.times)),
		Text: phrase.Say("%s read %s before its plug was pulled and %s when it was back.", t.channel.Name, t.shown(c.before),
			t.shown(c.after)),
		Basis: phrase.Say("that is %.0f times the root mean square of the changes over the same time in the hour before; by Chebyshev's "+
			"inequality a change of so many standard deviations has a chance of at most %.1f in 100",
			c.times, 100/(c.times*c.times))}
	if t.channel.Kind.IsGas() {
		f.Confidence = eitherWay
		f.Basis = phrase.Say("either gas came or went while the plug was out, or the cell came back with another zero: its readings cannot " +
			"tell which, so they count as gas")
	}
	return f, true
}

// change is one of a level over some time, beside what is usual.
type change struct{ before, after, moved, times float64 }

// changed measures a change between two stretches in two ways: from mean to mean, and between the
// lines through them, which leaves out what drifts evenly. The steadier one is taken: by the hour
// before, and by what the drift, or a bend of it, makes now. Nothing has changed where too little is known.
func (t *track) changed(from, to int64) change {
	before, after := t.level(from), t.level(to)
	usual, known := t.usualChanges(from, to-from)
	if !before.known || !after.known || !known {
		return change{}
	}
	c, lag := change{before: before.mean, after: after.mean, moved: after.mean - before.mean}, float64(to-from)
	moved, most := c.moved, max(usual.ofMeans, lag*sure(before.slope, before.off), lag*sure(after.slope, after.off))
	if bend := max(usual.ofLines, lag/2*sure(after.slope-before.slope, math.Hypot(before.off, after.off))); bend < most {
		moved, most = gap(before, after, to-from), bend
	}
	step := t.resolution()
	if step == 0 {
		step = t.channel.Resolution // it has shown one value alone
	}
	c.times = math.Abs(moved) / max(most, stepShare*step)
	return c
}

// sure is how large a slope is beyond twice its standard error.
func sure(slope, off float64) float64 { return max(0, math.Abs(slope)-2*off) }

// gap is that between two lines half-way.
func gap(before, after level, lag int64) float64 {
	return after.mean - before.mean - (before.slope+after.slope)/2*float64(lag)
}

// usualChanges are the root mean squares of the changes over a lag in the hour before a slot.
type usualChanges struct{ ofMeans, ofLines float64 }

func (t *track) usualChanges(until, lag int64) (usualChanges, bool) {
	means, lines, number := 0.0, 0.0, 0
	for n := until - keptSlots + 4*quietSlots; n+lag+quietSlots <= until; n += quietSlots / 2 {
		a, b := t.level(n), t.level(n+lag)
		if a.known && b.known {
			moved, off := b.mean-a.mean, gap(a, b, lag)
			means, lines, number = means+moved*moved, lines+off*off, number+1
		}
	}
	n := float64(max(number, 1))
	return usualChanges{math.Sqrt(means / n), math.Sqrt(lines / n)}, number >= leastChanges
}

// leastChanges is from how many changes their usual size is taken.
const leastChanges = 10

// restless says whether what moves with the air has changed by so much that a fan, a damper or a
// door may have made it.
func (t *track) restless(c change) bool {
	share := c.after / c.before
	return t.channel.Kind.MovesWithAir() && !(share > rests && share < 1/rests)
}

// otherMoved says whether the air changed meanwhile, or shortly before, by another of its signs.
func (w *Watch) otherMoved(t *track, from, to int64) bool {
	for _, id := range w.order {
		o := w.tracks[id]
		sign := o.channel.Kind.MovesWithAir() || o.channel.Kind == sensors.FanCommand
		c := o.changed(from-quietSlots, to+againSlots)
		if o != t && sign && (c.times > othersTimes || o.channel.Kind == sensors.FanCommand && c.moved != 0) {
			return true
		}
	}
	return false
}
