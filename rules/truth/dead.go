package truth

import (
	"cmp"
	"math"
	"slices"
	"time"

	"wetside/sensors"
	"wetside/sensors/quantity"
	"wetside/sensors/quantity/phrase"
)

const (
	// leastFlat is the shortest time that is called flat, deadChance the chance below which
	// a run or a fall of the noise is no accident.
	leastFlat  = 2 * time.Minute
	mostFlat   = 30 * time.Minute // of a longer time an hour of readings does not tell
	deadChance = 1e-10
	// quieter is the share of the noise of its quiet minutes below which a probe has lost
	// its noise, leastSwings the swings a reading from which its noise is seen whole.
	quieter     = 0.2
	leastSwings = 0.08
	// longer is by how much a value stands longer than any in the hour before where it has died, lively
	// the share of those minutes in which it swung to and fro, so that it neither drifted nor rested then.
	longer = 4
	lively = 0.6
	// rests is the share of its usual value below which what moves with the air is at rest.
	rests    = 0.8
	gasRests = 0.5
	// topped is the share of the end of its range from which a probe cuts its noise off (choice of this program).
	topped = 0.98
	// newPlace is by how many kelvin a temperature lies off its usual one when the probe may
	// be in something else, where its noise is another.
	newPlace = 1.5
	// leaps is the share of its range that no live value crosses within one reading, to stand
	// still there for minutes: wetside's own rule.
	leaps = 0.25
	// calmer is the share of its usual noise below which a room has come to rest, stillWater within what time
	// water that no longer runs goes to the temperature of the air: a tank of many litres takes hours (common practice).
	calmer     = 0.8
	stillWater = 3 * time.Hour
	// eitherWay is the confidence where two stories explain the same equally well.
	eitherWay = 0.5
)

// airborne says whether a kind is at rest when no air moves or no gas is there: then a
// live probe may read one value, or zero, for ever.
func airborne(k sensors.Kind) bool { return k.MovesWithAir() || k.IsGas() }

// isFraction says whether a channel measures a gas of which there may be more than its probe can show.
func isFraction(c sensors.Channel) bool { return c.Dimension == quantity.VolumeFraction }

// swayed says whether people or a tap make the noise of a kind: it goes from a live probe when they leave, or shut it off.
func swayed(k sensors.Kind) bool {
	return k == sensors.AirTemperature || k == sensors.RelativeHumidity || k == sensors.CarbonDioxide || k == sensors.WaterTemperature
}

// dead says whether the probe of a channel is one that no longer measures.
func (w *Watch) dead(t *track, now sensors.Instant) (Finding, bool) {
	l := &t.live
	stands, block := l.stood() >= leastFlat, now.Mono-l.now.begun
	summed := block >= blockLasts || block < slotWidth // one that a value stands over, or one that has just ended
	if !l.begun || !stands && !summed || now.Since(l.last) > t.channel.Silence {
		return Finding{}, false
	}
	f, found := t.atEnd()
	if u, known := t.usual(); !found && known {
		if f, found = w.flat(t, u); !found && !swayed(t.channel.Kind) {
			f, found = t.hushed(u, now)
		}
	}
	l.dead = l.dead || found
	f.Channels = []sensors.ChannelID{t.channel.ID}
	return f, found
}

// lively says whether two other probes of the room's air, of those whose noise people make, scatter since a moment as much as before,
// and none less: one may scatter by itself alone.
func (w *Watch) lively(t *track, since time.Duration) bool {
	some := 0
	for _, id := range w.order {
		o := w.tracks[id]
		if o == t || !swayed(o.channel.Kind) || o.channel.Kind == sensors.WaterTemperature {
			continue
		}
		share, known := o.asLively(since)
		if known && share < calmer {
			return false
		}
		if known {
			some++
		}
	}
	return some >= witnesses
}

// driftsWithin is in what time water that no longer runs goes on towards the air by a step that is seen for sure.
func (w *Watch) driftsWithin(t *track) time.Duration {
	air := w.air()
	if air == nil {
		return mostFlat
	}
	water, known := t.briefly(w.slot - 2*briefSlots)
	warm, also := air.briefly(w.slot - 2*briefSlots)
	share := surelyLeft * t.resolution() / math.Abs(warm-water)
	if !known || !also || share > 1 {
		return mostFlat
	}
	return time.Duration(share * float64(stillWater))
}

// asLively is the noise since a moment, as a share of the usual one of the hour before.
func (t *track) asLively(since time.Duration) (share float64, known bool) {
	l := &t.live
	var before []float64
	after := block{}
	for _, b := range append(slices.Clone(l.blocks[:min(l.kept, keptBlocks)]), l.soFar()) {
		switch {
		case b.begun >= since:
			after.readings, after.squares = after.readings+b.readings, after.squares+b.squares
		case b.lasted > 0 && b.begun+b.lasted <= since:
			before = append(before, b.noise())
		}
	}
	if len(before) < leastBlocks || after.readings < leastInBlock {
		return 0, false
	}
	slices.Sort(before)
	usually := before[len(before)/2]
	return after.noise() / usually, usually > 0
}

// FlatAfter is after what time a value of a channel that stands still would be called
// flat; false where its noise does not show at its resolution, or too little was seen yet.
func (w *Watch) FlatAfter(id sensors.ChannelID) (time.Duration, bool) {
	t, known := w.tracks[id]
	if !known {
		return 0, false
	}
	u, known := t.usual()
	if !known || t.resting(u, t.live.raw) {
		return 0, false
	}
	return w.flatAfter(t, u, t.live.last.Mono-2*blockLasts)
}

// flatAfter is the same wherever the value stands, by how lively the room is since a moment.
func (w *Watch) flatAfter(t *track, u usual, since time.Duration) (time.Duration, bool) {
	least := never
	if !stepwise(t.channel) { // a bath comes to rest when it is covered
		least = u.stands()
	}
	if u.leaves() > 0 {
		last := t.live.blocks[(t.live.kept-1)%keptBlocks]
		readings := math.Log(deadChance) / math.Log1p(-u.leaves())
		least = min(least, time.Duration(readings*float64(last.lasted)/float64(last.readings)))
	}
	switch {
	case t.channel.Kind == sensors.WaterTemperature:
		least = max(least, u.longest+w.driftsWithin(t)+leastFlat) // it may have run until then, and a slow probe may turn round
	case swayed(t.channel.Kind) && least <= mostFlat && !w.lively(t, since):
		return 0, false
	}
	return max(leastFlat, least), least <= mostFlat
}

// FlatAfters gives [Watch.FlatAfter] of every channel of which that can be told.
func (w *Watch) FlatAfters() map[sensors.ChannelID]time.Duration {
	all := map[sensors.ChannelID]time.Duration{}
	for _, id := range w.order {
		if after, known := w.FlatAfter(id); known {
			all[id] = after
		}
	}
	return all
}

// stood is how long the present value has stood.
func (l *liveness) stood() time.Duration { return l.last.Since(l.since) }

// resting says whether the noise of the last hour is no measure at a value: no air moves
// there, no gas is there or more than the probe can show, or a thermometer is in another liquid.
func (t *track) resting(u usual, value float64) bool {
	if c := t.channel; isFraction(c) && c.Unit.ToBase(value) >= topped*cmp.Or(c.Top, c.Plausible.High) {
		return true
	}
	if !airborne(t.channel.Kind) {
		unit := t.channel.Unit
		return t.channel.Dimension == quantity.Temperature && math.Abs(unit.ToBase(value)-unit.ToBase(u.level)) > newPlace
	}
	if t.channel.Kind.IsGas() { // the noise of a cell is its own, whatever gas there is, until it is cut off at zero
		return value <= 0 || value < gasRests*u.typical
	}
	return u.typical == 0 || value/u.typical < rests
}

// flat says whether the present value has stood longer than chance lets a live one.
func (w *Watch) flat(t *track, u usual) (Finding, bool) {
	l, leaves := &t.live, u.leaves()
	switch after, known := w.flatAfter(t, u, l.since.Mono); {
	case !known || l.stood() < after:
		return Finding{}, false
	case math.Abs(l.raw-l.before) > math.Abs(u.level)/2+20*math.Sqrt(u.noise) && math.Abs(l.raw) > math.Abs(l.before):
		return t.stuck(), true
	case t.resting(u, l.raw):
		return Finding{}, false
	}
	f := Finding{What: FlatLine, From: l.since.Wall, Confidence: mostCertain,
		Text: phrase.Say("%s has sent one and the same value for %.0f minutes.", t.channel.Name, l.stood().Minutes()),
		Basis: phrase.Say("in quiet minutes of the last hour the value swung to and fro %.0f times in 1000 readings, so a live probe "+
			"changes its value in %.0f of 100; now it has not in %d",
			1000*u.swings, 100*leaves, l.run)}
	if math.Pow(1-leaves, float64(l.run)) > deadChance {
		f.Confidence = certain(u.longerChance())
		f.Basis = phrase.Say("in the last hour, in which it swung to and fro, it never stood for longer than %.0f s", u.longest.Seconds())
	}
	return f, true
}

// atEnd says whether a value stands at the very end of what the channel can be, or far off after a leap.
func (t *track) atEnd() (Finding, bool) {
	l, c := &t.live, t.channel
	value, most := c.Unit.ToBase(l.raw), (c.Plausible.High-c.Plausible.Low)*1e-6
	high := math.Abs(value-c.Plausible.High) <= most && !isFraction(c) // of a gas there may be more than that
	low := math.Abs(value-c.Plausible.Low) <= most && !airborne(c.Kind)
	if l.stood() < leastFlat || c.Kind == sensors.FanCommand || !high && !low && !t.leapt() {
		return Finding{}, false
	}
	return t.stuck(), true
}

// leapt says whether a value came within one reading from where nothing gets in that time.
func (t *track) leapt() bool {
	l, unit := &t.live, t.channel.Unit
	from, to := unit.ToBase(l.before), unit.ToBase(l.raw)
	return math.Abs(to-from) > leaps*(t.channel.Plausible.High-t.channel.Plausible.Low) && math.Abs(to) > math.Abs(from)
}

// stuck is the finding that a value jumped somewhere and stands there. What a gas cell
// reads at its end may as well be gas beyond its range.
func (t *track) stuck() Finding {
	l := &t.live
	f := Finding{What: EndStop, From: l.since.Wall, Confidence: mostCertain,
		Text: phrase.Say("%s went from %s to %s within one reading and has stayed there for %.0f minutes.", t.channel.Name,
			t.shown(t.channel.Unit.ToBase(l.before)), t.shown(t.channel.Unit.ToBase(l.raw)), l.stood().Minutes()),
		Basis: phrase.Say("a live probe neither gets there within one reading nor stands still there")}
	if t.channel.Kind.IsGas() {
		f.Confidence = eitherWay
		f.Basis = phrase.Say("either there is more gas than the cell can show, or the cell is stuck: its readings cannot tell which, so " +
			"they count as gas")
	}
	return f
}

// shown is a value of the channel, as a sentence tells it.
func (t *track) shown(value float64) quantity.Figure {
	return t.channel.Dimension.Of(value, t.channel.Resolution)
}

// hushed says whether the noise of a probe has gone, though its value may still creep.
func (t *track) hushed(u usual, now sensors.Instant) (Finding, bool) {
	l := &t.live
	b, most := l.soFar(), quieter
	if now.Mono-b.begun < blockLasts {
		b, most = l.ended, quieter/2 // where no value stands over its end, the fall alone has to say it (choice of this program)
	}
	if b.readings < leastInBlock || u.all < leastSwings || l.run > b.readings/2 || t.resting(u, b.mean()) ||
		t.channel.Kind.IsGas() && b.mean() < math.Sqrt(u.noise) {
		return Finding{}, false
	}
	share := b.noise() / u.noise
	if share > most || fallChance(share, b.readings) > deadChance {
		return Finding{}, false
	}
	return Finding{What: LostNoise, From: wallOf(b.begun, now), Confidence: mostCertain,
		Text: phrase.Say("%s has lost its noise: its readings scatter %.0f times less than in quiet minutes of the last hour.", t.channel.Name,
			1/math.Sqrt(max(share, 1e-4))),
		Basis: phrase.Say("the variance of %d readings is %.1f %% of that of quiet minutes before; by chance it falls so far less than once "+
			"in 10 000 000 000 times",
			b.readings, 100*share)}, true
}

// fallChance is the chance that the variance of n readings comes out as a share of its
// true value or less. Mean square differences of white noise have 2n/3 degrees of freedom
// (von Neumann 1941, from memory), their distribution is that of Wilson and Hilferty (1931,
// as in Johnson, Kotz and Balakrishnan, Continuous Univariate Distributions, from memory).
func fallChance(share float64, n int) float64 {
	freedom := 2 * float64(n) / 3
	z := (math.Cbrt(share) - 1 + 2/(9*freedom)) / math.Sqrt(2/(9*freedom))
	return math.Erfc(-z/math.Sqrt2) / 2
}

// wallOf is the wall time of a monotonic one.
func wallOf(mono time.Duration, now sensors.Instant) time.Time { return now.Wall.Add(mono - now.Mono) }
