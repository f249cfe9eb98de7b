package truth

import (
	"math"
	"time"

	"wetside/sensors"
	"wetside/sensors/quantity/phrase"
)

// stillness counts how often a probe says the same value again.
type stillness struct {
	begun    bool
	raw      float64
	last     sensors.Instant
	since    sensors.Instant // the first reading of the present run
	run      int             // readings of the present run after its first
	longest  int             // run before the present one
	readings int             // before the present run, without the first of all
	changes  int
}

const (
	// leastChanges is how often a value has to have changed before it is known how it moves.
	leastChanges = 30
	// leastFlat is the shortest time that is called flat.
	leastFlat = 10 * time.Minute
	// flatTimes is by how much a run has to be longer than any before.
	flatTimes = 10
	// flatChance is the chance below which a run is no accident.
	flatChance = 1e-9
)

// take counts one reading.
func (s *stillness) take(r sensors.Reading, c sensors.Channel) {
	paused := c.Silence > 0 && r.At.Since(s.last) > c.Silence
	switch {
	case !s.begun:
		s.begun, s.since = true, r.At
	case r.Raw == s.raw && !paused:
		s.run++
	default:
		s.readings += s.run + 1
		s.changes++
		s.longest = max(s.longest, s.run)
		s.run, s.since = 0, r.At
	}
	s.raw, s.last = r.Raw, r.At
}

// judge says whether the present run is longer than chance makes it. A channel whose
// value may stand for ever is never flat.
func (s *stillness) judge(c sensors.Channel, now sensors.Instant) (Finding, bool) {
	lasted := s.last.Since(s.since)
	if c.Flat <= 0 || s.changes < leastChanges || lasted < leastFlat || s.run < flatTimes*s.longest || now.Since(s.last) > c.Silence {
		return Finding{}, false
	}
	again := 1 - float64(s.changes)/float64(s.readings)
	logChance := float64(s.run) * math.Log(max(again, 1e-6))
	if logChance > math.Log(flatChance) {
		return Finding{}, false
	}
	return Finding{What: FlatLine, Channels: []sensors.ChannelID{c.ID}, From: s.since.Wall, Confidence: certain(math.Exp(logChance) * float64(s.changes)),
		Text: phrase.Measured("%s has sent one and the same value for %.0f minutes.", c.Name, lasted.Minutes()),
		Basis: phrase.Measured("before, the value stayed the same from one reading to the next in %.0f of 100 cases and at most %d times in a row; now it has %d times",
			100*again, s.longest, s.run)}, true
}
