package breathing

import (
	"math"
	"slices"
	"time"

	"wetside/sensors/quantity/phrase"
)

// Minute is what a gas probe read in one minute: compact enough to keep a working day.
type Minute struct {
	Known time.Duration // with a value
	Below time.Duration // below what the sensor detects
	Over  time.Duration // at the end of the sensor's range
	High  float64       // highest value read
	Sum   float64       // value x hours of the time with a value
}

// Mean of the time with a value; zero where there was none.
func (m Minute) Mean() float64 {
	if m.Known <= 0 {
		return 0
	}
	return m.Sum / m.Known.Hours()
}

func (m Minute) read() time.Duration { return m.Known + m.Below + m.Over }

// add counts what a reading said for a time.
func (m *Minute) add(l Level, span time.Duration) {
	switch l.kind {
	case measured:
		m.Known += span
		m.Sum += l.high * span.Hours()
	case belowDetection:
		m.Below += span
	case overRange:
		m.Over += span
	}
}

// see notes that a value was read, for whatever time.
func (m *Minute) see(l Level) {
	if l.kind == measured || l.kind == overRange {
		m.High = max(m.High, l.high)
	}
}

// Level is what a value read by the sensor says; false for one that says nothing. One below
// zero is an error of the sensor, unless it lies no further below than the sensor can tell.
func (s Sensor) Level(value float64) (Level, bool) {
	switch {
	case !(value >= -s.Detection && value <= math.MaxFloat64):
		return Level{}, false
	case s.FullScale > 0 && value >= s.FullScale:
		return OverRange(s.FullScale), true
	case s.Detection > 0 && value < s.Detection:
		return BelowDetection(s.Detection), true
	}
	return Measured(value), true
}

// put adds the time of a minute to a tape, a stretch for each of its parts.
func (t *Tape) put(s Sensor, m Minute, known Level) error {
	for _, part := range []struct {
		length time.Duration
		level  Level
	}{{m.Known, known}, {m.Below, BelowDetection(s.Detection)}, {m.Over, OverRange(s.FullScale)}} {
		if part.length <= 0 {
			continue
		}
		if err := t.Sampled(part.length, part.level); err != nil {
			return err
		}
	}
	return nil
}

func (t *Tape) unread(length time.Duration) error {
	if length <= 0 {
		return nil
	}
	return t.Unsampled(length, phrase.Say("no usable reading"))
}

// Lay lays minutes on a tape in their order, each with its mean, or for a ceiling with its
// highest value. The last minute may be cut short by the length of them all.
func (s Sensor) Lay(minutes []Minute, length time.Duration, kind LimitKind) (Tape, error) {
	t := Tape{spans: make([]span, 0, len(minutes)+len(minutes)/8+1)} // most minutes are one span
	for _, m := range minutes {
		known := Measured(max(0, m.Mean()))
		if kind == Ceiling {
			known = Measured(m.High)
		}
		if err := t.put(s, m, known); err != nil {
			return t, err
		}
		if err := t.unread(min(time.Minute, length) - m.read()); err != nil {
			return t, err
		}
		length -= time.Minute
	}
	return t, nil
}

// Sum lays minutes on a tape that averages the same over all of them, in a few spans:
// what was read, with the worst minute apart since it bounds what was not.
func (s Sensor) Sum(minutes []Minute) (Tape, error) {
	var t Tape
	var all, worst Minute
	for _, m := range minutes {
		all.Known, all.Below, all.Over, all.Sum = all.Known+m.Known, all.Below+m.Below, all.Over+m.Over, all.Sum+m.Sum
		if m.Mean() > worst.Mean() {
			worst = m
		}
	}
	rest := time.Duration(len(minutes))*time.Minute - all.read()
	all.Known, all.Sum = all.Known-worst.Known, all.Sum-worst.Sum
	if err := t.unread(rest); err != nil {
		return t, err
	}
	if err := t.put(s, all, Measured(max(0, all.Mean()))); err != nil {
		return t, err
	}
	return t, t.put(s, Minute{Known: worst.Known}, Measured(max(0, worst.Mean())))
}

// Highest lays the highest value of some minutes on a tape, with what was not read.
func (s Sensor) Highest(minutes []Minute) (Tape, error) {
	var t Tape
	var all Minute
	for _, m := range minutes {
		all.Known, all.Below, all.Over, all.High = all.Known+m.Known, all.Below+m.Below, all.Over+m.Over, max(all.High, m.High)
	}
	if err := t.unread(time.Duration(len(minutes))*time.Minute - all.read()); err != nil {
		return t, err
	}
	return t, t.put(s, all, Measured(all.High))
}

// Probe is a gas probe whose readings are summed up.
type Probe struct {
	Sensor
	// Silence is how long after a reading the next one may come and still say that the gas
	// was measured in between.
	Silence time.Duration
	// Keep is how many minutes are kept; zero keeps all.
	Keep int
}

// Course is what a gas probe read, minute by minute. Times are counted from any beginning,
// the same for all. A time counts as read when the reading before it is good and the next
// one comes within the longest silence; a longer silence is missing as a whole. The zero
// Course has read nothing. It is a value: going on gives a new one.
type Course struct {
	minutes []Minute // complete ones, oldest first
	now     Minute   // the one under way
	at      time.Duration
	heard   time.Duration
	level   Level
	good    bool
	begun   bool
}

// Begin gives a course that counts from a moment on.
func Begin(at time.Duration) Course { return Course{at: at, heard: at, begun: true} }

// Read goes on by a reading; one that came before the last is passed over.
func (c Course) Read(p Probe, at time.Duration, value float64, good bool) Course {
	c.minutes = slices.Clip(c.minutes)
	c.Take(&p, at, Reading{value, good})
	return c
}

// Reading is what a gas probe said at a moment, and whether that counts as a measurement.
type Reading struct {
	Value float64
	Good  bool
}

// Take is [Course.Read] in place, for a course that nobody else goes on from.
func (c *Course) Take(p *Probe, at time.Duration, r Reading) {
	if !c.begun {
		*c = Begin(at)
	}
	if at < c.heard {
		return
	}
	c.count(p, at, c.good && at-c.heard <= p.Silence)
	c.heard = at
	c.level, c.good = p.Level(r.Value)
	if c.good = c.good && r.Good; c.good {
		c.now.see(c.level)
	}
}

// Stop is [Course.End] in place, for a course that nobody else goes on from.
func (c *Course) Stop(p *Probe, at time.Duration) { c.count(p, at, false) }

// Wait goes on to a moment without a reading: what was silent for too long is missing.
func (c Course) Wait(p Probe, at time.Duration) Course {
	if !c.begun {
		return Begin(at)
	}
	if at-c.heard > p.Silence {
		c = c.End(p, at)
		c.good = false
	}
	return c
}

// End goes on to the end of what is known, up to which the last reading says nothing.
func (c Course) End(p Probe, at time.Duration) Course {
	c.minutes = slices.Clip(c.minutes)
	c.Stop(&p, at)
	return c
}

func (c *Course) count(p *Probe, to time.Duration, read bool) {
	for c.at < to {
		end := min(to, c.at-c.at%time.Minute+time.Minute)
		if read {
			c.now.add(c.level, end-c.at)
		}
		if c.at = end; end%time.Minute == 0 {
			c.minutes, c.now = append(c.minutes, c.now), Minute{}
			if read {
				c.now.see(c.level)
			}
		}
	}
	if p.Keep > 0 {
		c.minutes = c.minutes[max(0, len(c.minutes)-p.Keep):]
	}
}

// Length is how many whole minutes were counted, kept or not.
func (c Course) Length() int { return int(c.at / time.Minute) }

// Minutes are those that are complete, oldest first.
func (c Course) Minutes() []Minute { return c.minutes }

// Last gives the complete minutes of a window that ends with the newest of them.
func (c Course) Last(window time.Duration) []Minute {
	return c.minutes[max(0, len(c.minutes)-int(window/time.Minute)):]
}

// UnderWay is the minute that is not complete yet; false while its last reading says nothing.
func (c Course) UnderWay() (Minute, bool) { return c.now, c.good }

// Peak is the highest reading of the minute under way as a level.
func (s Sensor) Peak(m Minute) Level {
	if s.FullScale > 0 && m.High >= s.FullScale {
		return OverRange(s.FullScale)
	}
	return Measured(m.High)
}
