package truth

import (
	"math"
	"time"

	"wetside/rules/fit"
	"wetside/sensors/quantity"
	"wetside/sensors/quantity/phrase"
)

// By Newton's law of cooling a bath goes towards the air around it at a pace in proportion to how far off it is; evaporation makes an
// open tray colder still, and a lid takes that away and some of the rest.
const (
	courseSlots = 60 // over which a bath has to have kept its pace: 10 minutes
	// steadyCourse is how many standard errors its slope has to be: a course that a jacket of hot water bent is none.
	steadyCourse = 15
	// evaporates is by how many kelvin an open tray comes to rest below the air at most (common practice: an estimate).
	evaporates = 2.5
	// lets is the share of its other losses that a lid lets through at least (common practice: an estimate).
	lets = 0.75
	// soonest is within what time at least a tray would come to rest at its first pace: a jacket or ice makes more (common
	// practice: a tray of two litres takes an hour or two).
	soonest = 40 * time.Minute
	// surelyLeft is by how many of its steps what a value stands for has to have moved to be shown as another one.
	surelyLeft = 1.1
	// stirs is by how many kelvin a bath goes to and fro by itself (common practice: an estimate).
	stirs = 0.05
	// keptWarm is the chance that something else keeps a bath where it is (common practice: an estimate).
	keptWarm = 0.2
	// soonFlat is within what time the noise of a probe has to tell that it is dead, to be left to that.
	soonFlat = 10 * time.Minute
)

// stopped says whether a bath that went towards the air stands still for longer than one can, under a lid too.
func (w *Watch) stopped(t *track, f Finding) (Finding, bool) {
	l, since := &t.live, int64(t.live.since.Mono/slotWidth)
	pace, steady := t.course(since)
	after, noisy := w.FlatAfter(t.channel.ID)
	if !steady || noisy && after <= soonFlat || !t.fine() || l.stood() > mostFlat || w.acted(t.channel.ID, since-courseSlots, w.slot) {
		return Finding{}, false
	}
	share := w.underLid(t, pace, since)
	if math.Abs(pace)*share*float64(w.slot-since) < surelyLeft*max(t.resolution(), stirs) {
		return Finding{}, false
	}
	f.Confidence = certain(keptWarm)
	f.Text = phrase.Say("%s has sent one and the same value for %.0f minutes; before, it changed by %s in ten minutes.", t.channel.Name,
		l.stood().Minutes(), quantity.Celsius(pace*float64(10*time.Minute/slotWidth)).To(0.01).Change())
	f.Basis = phrase.Say("by Newton's law of cooling a bath goes on towards the air, here at %.0f %% of that pace at least, also under a "+
		"lid; that something else keeps it where it is, such as a heater, has a chance of %.0f in 100", 100*share, 100*keptWarm)
	return f, true
}

// course is by how much a value went on in a slot, in the minutes before one; false where it kept no pace.
func (t *track) course(until int64) (pace float64, steady bool) {
	var x, y []float64
	for n := until - courseSlots; n < until; n++ {
		if v, known := t.slotAt(n); known {
			x, y = append(x, float64(n)), append(y, v)
		}
	}
	line, ok := fit.Regress(x, y)
	return line.Slope, ok && len(x) >= courseSlots*3/4 && math.Abs(line.Slope) >= steadyCourse*line.SlopeError
}

// underLid is what share of the pace towards the air is left to a bath since a slot at least, if a lid was put on; none where the air
// is unknown, or did not make that pace.
func (w *Watch) underLid(t *track, pace float64, since int64) float64 {
	air := w.air()
	if air == nil {
		return 0
	}
	farthest, nearest := 0.0, math.Inf(1)
	for n := since - courseSlots; n+briefSlots <= w.slot; n += briefSlots {
		bath, known := t.briefly(n)
		around, also := air.briefly(n)
		if !known || !also {
			return 0
		}
		off := (around - bath) * math.Copysign(1, pace)
		farthest = max(farthest, off)
		if n >= since {
			nearest = min(nearest, off)
		}
	}
	if nearest <= 0 || math.Abs(pace) > (farthest+evaporates)*float64(slotWidth)/float64(soonest) {
		return 0
	}
	return lets * nearest / (nearest + evaporates)
}
