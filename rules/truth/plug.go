package truth

import (
	"math"

	"wetside/sensors"
	"wetside/sensors/quantity/phrase"
)

const (
	// longestPlug is the longest pause over which a level is compared with the one before.
	longestPlug = 30 // slots
	// plugTimes is by how much a step has to be larger than the root mean square of the
	// changes of the last hour over the same time and than what the value drifts by, plugSteps than the step worth showing.
	plugTimes = 5
	plugSteps = 5
)

// replugged says whether a value that cannot change at once stepped in the minute in
// which its plug was pulled: the probe came back with another zero.
func (w *Watch) replugged(t *track, now sensors.Instant) (Finding, bool) {
	if t.plugged == 0 || w.slot < t.plugged+quietSlots+1 {
		return Finding{}, false
	}
	from, to := t.unplugged-quietSlots, t.plugged+1
	t.plugged = 0
	before, after := t.level(from), t.level(to)
	if !before.known || !after.known || to-from > longestPlug+quietSlots || w.acted(t.channel.ID, from-actSlots, w.slot) {
		return Finding{}, false
	}
	moved, drift := after.mean-before.mean, max(math.Abs(before.slope), math.Abs(after.slope))*float64(to-from)
	most := max(drift, t.usuallyMoved(from, to-from))
	if most == 0 || math.Abs(moved) < plugTimes*most || math.Abs(moved) < plugSteps*t.channel.Resolution+2*t.resolution() {
		return Finding{}, false
	}
	times := math.Abs(moved) / most
	return Finding{What: Jump, Channels: []sensors.ChannelID{t.channel.ID}, From: wallAt(t.unplugged, now),
		Confidence: certain(1 / (times * times)),
		Text: phrase.Say("%s read %s before its plug was pulled and %s when it was back.", t.channel.Name, t.shown(before.mean),
			t.shown(after.mean)),
		Basis: phrase.Say("that is %.0f times the root mean square of the changes over the same time in the hour before; by Chebyshev's "+
			"inequality a change of so many standard deviations has a chance of at most %.1f in 100",
			times, 100/(times*times))}, true
}

// usuallyMoved is the root mean square change of the level over a lag in the hour before a slot.
func (t *track) usuallyMoved(until, lag int64) float64 {
	squares, number := 0.0, 0
	for n := until - keptSlots + 4*quietSlots; n+lag+quietSlots <= until; n += quietSlots / 2 {
		a, b := t.level(n), t.level(n+lag)
		if a.known && b.known {
			squares, number = squares+(b.mean-a.mean)*(b.mean-a.mean), number+1
		}
	}
	if number < leastChanges {
		return 0
	}
	return math.Sqrt(squares / float64(number))
}

// leastChanges is from how many changes their usual size is taken.
const leastChanges = 10
