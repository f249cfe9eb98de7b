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
	plugTimes   = 6
	othersTimes = 3
	// stillTimes is by how much it has to be larger againSlots later: over a longer time more is usual.
	stillTimes = 3
	// briefSlots is the length of the stretches by which a place that wanders is compared, beyondMost
	// by what share a change between them exceeds the largest of the hour before, lastSlots after how
	// many slots most of it is still there: by then a door that stood open is shut.
	briefSlots = 3
	briefTimes = 5 // less than over minutes: there are more of them in an hour
	beyondMost = 1.25
	lastSlots  = 18
	// mostly is the share of a change that has to have come while the plug was out, to be one against minutes before, and to be
	// there minutes later; as much after it is a change of the place.
	mostly = 0.6
	// begunShare is the share of a change that has to have come before the plug was pulled, or when it was back, to be none of the probe.
	begunShare = 0.25
	// plugSteps is how many steps worth showing it has to be larger than. A value that
	// stands between two steps of its probe changes by none or by a whole one: stepShare of
	// them is the least that counts as usual.
	plugSteps = 1
	stepShare = 0.25
)

// replugged says whether a value stepped in the minute in which its plug was pulled: the
// probe came back with another zero.
func (w *Watch) replugged(t *track, now sensors.Instant) (Finding, bool) {
	if t.plugged == 0 || w.slot < t.plugged+1+lastSlots+briefSlots {
		return Finding{}, false
	}
	from, to := t.unplugged-quietSlots, t.plugged+1
	defer func() { t.plugged = 0 }()
	if to-from > longestPlug+quietSlots || w.acted(t.channel.ID, from-actSlots, w.slot) {
		return Finding{}, false
	}
	if !t.channel.Kind.MovesWithAir() { // what flows may change its pace at any moment; a gas and a bath keep to their course
		c := t.offItsLine(from+quietSlots-briefSlots, to)
		if c.times >= briefTimes && !t.crept(c) && !t.restless(c) && !w.otherMoved(t, from, to) {
			return t.replaced(c, now), true
		}
	}
	c, again := t.changed(from, to), t.changed(from, to+againSlots)
	if c.times < plugTimes || again.times < stillTimes || again.moved/c.moved < mostly {
		if c = t.steppedBriefly(from+quietSlots-briefSlots, to); c.times < briefTimes {
			return Finding{}, false
		}
	}
	across, _ := t.briefMove(from+quietSlots-briefSlots, to)
	before, _ := t.briefMove(from+quietSlots-briefSlots-lastSlots, to) // a door may have stood open just before the plug was pulled
	if math.Abs(c.moved) < plugSteps*t.channel.Resolution || min(across/c.moved, before/c.moved) < mostly || t.crept(c) || t.restless(c) ||
		t.movesOn(c, from, to) || w.otherMoved(t, from, to) {
		return Finding{}, false
	}
	return t.replaced(c, now), true
}

// replaced is the finding that a probe came back from its plug with another zero.
func (t *track) replaced(c change, now sensors.Instant) Finding {
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
	return f
}

// crept says whether a value went the way of a change also in the seconds before its plug was pulled, or when it was back, farther
// than ever in the hour before: then its place has changed, such as water of a tap that was opened.
func (t *track) crept(c change) bool {
	const lag = 2
	move := func(from, to int64) (float64, bool) {
		a, known := t.slotAt(from)
		b, also := t.slotAt(to)
		return b - a, known && also
	}
	_, most, _ := t.usualOf(move, t.unplugged-lag, lag)
	for _, from := range []int64{t.unplugged - lag, t.plugged} {
		moved, known := move(from, from+lag)
		if known && moved*c.moved > 0 && math.Abs(moved) > max(beyondMost*most, begunShare*math.Abs(c.moved)) {
			return true
		}
	}
	return false
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
	c.times = math.Abs(moved) / max(most, stepShare*t.resolution(), math.SmallestNonzeroFloat64) // that of a value that stood is none
	return c
}

// steppedBriefly measures a change between two short stretches, where it is larger than any of the hour
// before and has lasted: a place that wanders moves less meanwhile than over minutes.
func (t *track) steppedBriefly(from, to int64) change {
	c := t.briefChange(from, to)
	for _, later := range []int64{againSlots, lastSlots} {
		if still, known := t.briefMove(from, to+later); !known || still/c.moved < mostly {
			return change{}
		}
	}
	return c
}

// briefChange is a change between two short stretches beside those of the hour before; nothing where one
// of those was about as large.
func (t *track) briefChange(from, to int64) change {
	moved, known := t.briefMove(from, to)
	size, most, also := t.usualBrief(from, to-from)
	if !known || !also {
		return change{}
	}
	before, _ := t.briefly(from)
	c, step := change{before: before, after: before + moved, moved: moved}, max(t.resolution(), stepShare*t.channel.Resolution)
	if math.Abs(moved) >= beyondMost*most+stepShare*step {
		c.times = math.Abs(moved) / max(size, stepShare*step)
	}
	return c
}

// offItsLine measures by how much a value is off the lines through two short stretches on each side, half-way, where that is
// larger than ever in the hour before and lasts: what drifts evenly, also fast, is not off.
func (t *track) offItsLine(from, to int64) change {
	off, known := t.offLine(from, to)
	before, also := t.offLine(from-lastSlots, to) // a door may have stood open just before
	size, most, enough := t.usualOf(t.offLine, from, to-from)
	step := max(t.resolution(), stepShare*t.channel.Resolution)
	if !known || !also || !enough || math.Abs(off) < max(beyondMost*most+stepShare*step, plugSteps*t.channel.Resolution) ||
		before/off < mostly {
		return change{}
	}
	for _, later := range []int64{againSlots, lastSlots - briefSlots} {
		if still, known := t.offLine(from, to+later); !known || still/off < mostly {
			return change{}
		}
	}
	level, _ := t.briefly(from)
	return change{before: level, after: level + off, moved: off, times: math.Abs(off) / max(size, stepShare*step)}
}

// offLine is the gap, half-way, between the line through the short stretches up to one and that from another on.
func (t *track) offLine(from, to int64) (float64, bool) {
	moved, known := t.briefMove(from, to)
	before, also := t.briefMove(from-briefSlots, from)
	after, still := t.briefMove(to, to+briefSlots)
	return moved - (before+after)/2*float64(to-from)/briefSlots, known && also && still
}

// movesOn says whether a value went on nearly as far after a change: then its place has changed, such as the air
// of which people came in, and not the probe.
func (t *track) movesOn(c change, from, to int64) bool {
	moved, known := t.briefMove(to, to+lastSlots)
	size, _, _ := t.usualBrief(from, lastSlots)
	return known && moved*c.moved > 0 && math.Abs(moved) > max(mostly*math.Abs(c.moved), 2*size)
}

// usualBrief is that of the changes between short stretches.
func (t *track) usualBrief(until, lag int64) (size, most float64, known bool) {
	return t.usualOf(t.briefMove, until, lag)
}

// usualOf is the root mean square and the largest of what is measured over a lag, in the hour before a slot.
func (t *track) usualOf(measured func(from, to int64) (float64, bool), until, lag int64) (size, most float64, known bool) {
	squares, number := 0.0, 0
	for n := until - keptSlots + 4*quietSlots; n+lag+briefSlots <= until; n++ {
		moved, known := measured(n, n+lag)
		if before, _ := t.briefly(n); known && t.restless(change{before: before, after: before + moved}) {
			squares, most, number, n = 0, 0, 0, n+quietSlots // what was usual before is not what is usual now
		} else if known {
			squares, most, number = squares+moved*moved, max(most, math.Abs(moved)), number+1
		}
	}
	return math.Sqrt(squares / float64(max(1, number))), most, number >= 5*leastChanges
}

// briefMove is by how much the means of two short stretches differ.
func (t *track) briefMove(from, to int64) (moved float64, known bool) {
	a, known := t.briefly(from)
	b, also := t.briefly(to)
	return b - a, known && also
}

// briefly is the mean of some slots from one on.
func (t *track) briefly(from int64) (mean float64, known bool) {
	for n := from; n < from+briefSlots; n++ {
		v, filled := t.slotAt(n)
		if !filled {
			return 0, false
		}
		mean += v / briefSlots
	}
	return mean, true
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
		switch {
		case !a.known || !b.known:
		case t.restless(change{before: a.mean, after: b.mean}): // what was usual before is not what is usual now
			means, lines, number, n = 0, 0, 0, n+quietSlots
		default:
			moved, off := b.mean-a.mean, gap(a, b, lag)
			means, lines, number = means+moved*moved, lines+off*off, number+1
		}
	}
	n := float64(number)
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
