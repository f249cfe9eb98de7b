package truth

import (
	"math"

	"wetside/sensors"
	"wetside/sensors/quantity"
	"wetside/sensors/quantity/phrase"
)

const (
	// rested is the share of its value below which a sign of the air has come to rest, witnesses how many
	// other signs have to show that, turnSlots for how long.
	rested    = 0.3
	witnesses = 2
	turnSlots = 3
	doorSlots = 18 // within which a door is shut again (common practice: an estimate)
	// watchedSlots is since when a probe has to have been heard: before, signs that disagree are only that.
	watchedSlots = keptSlots / 2
	// seenSteps is how many of its steps a probe has to be able to show of what others show.
	seenSteps = 3
	// besideSlots is over how long two probes of the air are compared, apartTimes how many times as far as
	// they ever went apart meanwhile, and a bit, the other has to move.
	besideSlots = 60
	apartTimes  = 1.5
	// deceived is the chance that a probe beside is wrong, or in other air (common practice: an estimate).
	deceived = 0.1
)

// contradicted says whether a value stands still though the probes beside it show that it has to move.
func (w *Watch) contradicted(t *track, now sensors.Instant) (Finding, bool) {
	l := &t.live
	from := max(int64(l.since.Mono/slotWidth)+1, w.slot-keptSlots+briefSlots)
	_, watched := t.briefly(w.slot - watchedSlots)
	if !watched || l.stood() < leastFlat || now.Since(l.last) > t.channel.Silence {
		return Finding{}, false
	}
	f := Finding{What: FlatLine, Channels: []sensors.ChannelID{t.channel.ID}, From: l.since.Wall}
	switch {
	case t.channel.Kind.MovesWithAir():
		return w.besideTheFan(t, from, f)
	case t.channel.Kind == sensors.AirTemperature:
		return w.besideAnother(t, max(from, w.slot-besideSlots), f)
	case stepwise(t.channel):
		return w.stopped(t, f)
	}
	return Finding{}, false
}

// besideTheFan says whether the air began to move or came to rest, by other signs of it, while a value stood.
func (w *Watch) besideTheFan(t *track, from int64, f Finding) (Finding, bool) {
	var names []phrase.Sentence
	turns := 0
	lasts := int64(turnSlots)
	if t.channel.Kind == sensors.RoomPressure { // an open door takes it away
		lasts = doorSlots
	}
	if w.slot-lasts-briefSlots < from { // what the air did before the value stood says nothing of it
		return Finding{}, false
	}
	for _, id := range w.order {
		o := w.tracks[id]
		turn := o.turned(from, w.slot-lasts-briefSlots)
		if o == t || turn == 0 || turn != o.turned(from, w.slot-briefSlots) {
			continue
		}
		turns += turn
		names = append(names, phrase.Plain(o.channel.Name))
	}
	if len(names) < witnesses || max(turns, -turns) < len(names) || t.couldMove(turns < 0) < seenSteps {
		return Finding{}, false
	}
	what := phrase.Say("began to move")
	if turns < 0 {
		what = phrase.Say("came to rest")
	}
	f.Confidence = certain(math.Pow(deceived, float64(len(names))))
	f.Text = phrase.Say("%s has sent one and the same value for %.0f minutes; meanwhile the air %s, by %s.", t.channel.Name,
		t.live.stood().Minutes(), what, phrase.Join(", ", names...))
	f.Basis = phrase.Say("a live probe changes its value with the air; that each of %d other signs is wrong has a chance of %.0f in 100",
		len(names), 100*deceived)
	return f, true
}

// turned is -1 where a sign of the air came to rest between two slots, 1 where it began to move.
func (t *track) turned(from, to int64) int {
	if !t.channel.Kind.MovesWithAir() && t.channel.Kind != sensors.FanCommand {
		return 0
	}
	before, known := t.briefly(from)
	after, also := t.briefly(to)
	before, after = math.Abs(before), math.Abs(after)
	switch least := seenSteps * t.showsSteps(); {
	case !known || !also:
	case t.channel.Kind == sensors.FanCommand:
		return int(after) - int(before)
	case before >= least && after < rested*before:
		return -1
	case after >= least && before < rested*after:
		return 1
	}
	return 0
}

// showsSteps is the smallest difference that a channel shows.
func (t *track) showsSteps() float64 { return max(t.resolution(), t.channel.Resolution) }

// couldMove is by how many steps a standing value of what moves with the air is off where the air has come
// to rest, or has begun to move as it did in the hour before.
func (t *track) couldMove(stopped bool) float64 {
	unit, farthest := t.channel.Unit, 0.0
	stands := math.Abs(unit.ToBase(t.live.raw))
	if stopped {
		return stands / t.showsSteps()
	}
	for i := range min(t.live.kept, keptBlocks) {
		farthest = max(farthest, math.Abs(unit.ToBase(t.live.blocks[i].mean())))
	}
	return (farthest - stands) / t.showsSteps()
}

// besideAnother says whether another probe of the room's air moved much farther, while a value stood, than
// the two ever went apart over the same time.
func (w *Watch) besideAnother(t *track, from int64, f Finding) (Finding, bool) {
	to := w.slot - briefSlots
	for _, id := range w.order {
		o := w.tracks[id]
		if o == t || o.channel.Kind != sensors.AirTemperature {
			continue
		}
		moved, known := o.briefMove(from, to)
		unseen := t.showsSteps() + max(t.showsSteps(), o.showsSteps()) // by so much the air may move between the steps of the two
		if !known || math.Abs(moved) <= unseen {
			continue
		}
		most, number := 0.0, 0
		for n := w.slot - keptSlots; n+to-from+briefSlots <= from; n++ {
			a, known := t.briefMove(n, n+to-from)
			b, also := o.briefMove(n, n+to-from)
			if known && also {
				most, number = max(most, math.Abs(a-b)), number+1
			}
		}
		if number < besideSlots || math.Abs(moved) <= unseen+apartTimes*most {
			continue
		}
		f.Confidence = certain(deceived)
		f.Text = phrase.Say("%s has sent one and the same value for %.0f minutes; meanwhile %s moved by %s.", t.channel.Name,
			t.live.stood().Minutes(), o.channel.Name, quantity.Celsius(moved).To(0.1).Change())
		f.Basis = phrase.Say("in the hour before the two never went apart by more than %s over the same time; that %s is wrong, or in "+
			"other air, has a chance of %.0f in 100", quantity.Celsius(most).To(0.1).Gap(), o.channel.Name, 100*deceived)
		return f, true
	}
	return Finding{}, false
}
