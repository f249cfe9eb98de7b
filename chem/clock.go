package chem

import (
	"math"
	"time"

	"wetside/sensors/quantity"
	"wetside/sensors/quantity/phrase"
)

// ClockState is where a development clock stands.
type ClockState uint8

// The states. The zero state is no clock at all.
const (
	ClockReady ClockState = iota + 1
	ClockRunning
	ClockPaused
	ClockDone
)

// Following says what a running clock goes by.
type Following uint8

// What a clock goes by. The zero value is nothing yet.
const (
	FollowingBath  Following = iota + 1 // the measured temperature
	FollowingTrend                      // the trend of the last minutes: the probe is silent
	PlainClock                          // nothing: the probe has been silent for too long
	CountingUp                          // nothing: there is no time to count down
)

const (
	freshFor   = 10 * time.Second // how old a measurement may be between two readings of a probe
	trendFor   = 3 * time.Minute  // how long a silent probe is bridged by the trend
	undoWithin = time.Minute      // how long a press can be taken back
)

// Clock times one film or print in one bath. It integrates the rate of development
// at the temperature measured, so that its end moves when the bath drifts. It is
// a value: every method gives a new one, and all times are monotonic.
type Clock struct {
	bath     curve
	promised time.Duration
	state    ClockState
	share    float64       // developed so far, 1 is finished
	ran      time.Duration // time in the bath so far
	over     time.Duration // time in the bath past the end
	now      time.Duration
	at       quantity.Celsius
	seen     track
	before   *Clock // the clock had the last press not been made
	pressed  time.Duration
	follows  Following
	refusal  phrase.Sentence // why it only counts up
}

// NewPlainClock prepares a clock for a film or print that goes in although there is
// no time for it: it counts up and says why.
func NewPlainClock(refusal phrase.Sentence, now time.Duration) Clock {
	return Clock{state: ClockReady, now: now, follows: CountingUp, refusal: refusal}
}

// NewClock prepares a clock for what [Tonight] recommends at a moment; a refusal
// is the error.
func NewClock(in Inputs, now time.Duration) (Clock, error) {
	r := Tonight(in)
	t, ok := r.Time()
	if !ok {
		return Clock{}, Refusal{r.Refusal()}
	}
	at, _ := in.Temperature.Value()
	bath := curve{table: in.Table, hydroquinone: in.HydroquinoneFloor, scale: 1}
	bath.scale = t.Seconds() / bath.seconds(at)
	c := Clock{bath: bath, promised: t, state: ClockReady, now: now, at: at, follows: FollowingBath}
	c.seen = c.seen.with(Sample{At: now, Temperature: at})
	return c, nil
}

// Start is the moment at which the film or print goes in.
func (c Clock) Start(now time.Duration) (Clock, error) {
	return c.press(now, ClockReady, ClockRunning, phrase.Errorf("only a timer that is ready can be started"))
}

// Pause is for a print that is taken out of the bath.
func (c Clock) Pause(now time.Duration) (Clock, error) {
	return c.press(now, ClockRunning, ClockPaused, phrase.Errorf("only a running timer can be paused"))
}

// Resume is for a print that goes back into the bath.
func (c Clock) Resume(now time.Duration) (Clock, error) {
	return c.press(now, ClockPaused, ClockRunning, phrase.Errorf("only a paused timer can be resumed"))
}

func (c Clock) press(now time.Duration, from, to ClockState, mistake error) (Clock, error) {
	c = c.Advance(now, BathTemperature{})
	if c.state != from {
		return c, mistake
	}
	before := c
	before.before = nil
	c.before, c.pressed, c.state = &before, now, to
	return c, nil
}

// Undo takes the last press back as if it had never been made; development went
// on, or did not, in the meantime. It works once, within a minute.
func (c Clock) Undo(now time.Duration) (Clock, error) {
	c = c.Advance(now, BathTemperature{})
	if c.before == nil || now-c.pressed > undoWithin {
		return c, phrase.Errorf("there is nothing to undo: a press can be undone for one minute")
	}
	return *c.before, nil
}

// Advance brings the clock to a moment with the bath temperature measured there;
// pass the zero BathTemperature when the probe is silent. A moment in the past
// changes nothing.
func (c Clock) Advance(now time.Duration, measured BathTemperature) Clock {
	if c.state == 0 || now < c.now {
		return c
	}
	if c.before != nil {
		before := c.before.Advance(now, measured)
		c.before = &before
	}
	was, span := c.at, now-c.now
	c.now = now
	if c.follows == CountingUp {
		if c.state == ClockRunning {
			c.ran += span
		}
		return c
	}
	c.follow(measured)
	if c.state == ClockRunning || c.state == ClockDone {
		c.develop(span, was)
	}
	return c
}

// follow settles the temperature to go by: the measured one, the trend, or the
// last estimate.
func (c *Clock) follow(measured BathTemperature) {
	if at, known := measured.Value(); known {
		c.at, c.follows = at, FollowingBath
		c.seen = c.seen.with(Sample{At: c.now, Temperature: at})
		return
	}
	switch silent := c.silent(); {
	case silent > trendFor:
		c.follows = PlainClock
	case silent > freshFor:
		c.at, c.follows = c.seen.at(c.now), FollowingTrend
	}
}

// silent is how long no temperature has come.
func (c Clock) silent() time.Duration { return c.now - c.seen[len(c.seen)-1].At }

// develop adds what a span in the bath does, at the mean of the rates at its ends.
func (c *Clock) develop(span time.Duration, was quantity.Celsius) {
	c.ran += span
	rate := (1/c.bath.seconds(was) + 1/c.bath.seconds(c.at)) / 2
	c.share += span.Seconds() * rate
	if c.share < 1 {
		return
	}
	if c.state == ClockRunning {
		span = min(span, fromSeconds((c.share-1)/rate))
	}
	c.state = ClockDone
	c.over += span
}

// ClockView is what a clock shows.
type ClockView struct {
	State ClockState
	// Left is the time to the end at the temperature now; zero when done, and for
	// a clock that only counts up.
	Left time.Duration
	// Ran is the time in the bath so far, Over the part of it past the end.
	Ran, Over time.Duration
	// Moved is how much later the end is than was promised at the start.
	Moved time.Duration
	// Following is what the clock goes by.
	Following Following
	// Notice is a sentence when the end has moved or the clock no longer follows
	// the bath; else empty.
	Notice phrase.Sentence
}

// View is what the clock shows at the moment of its last advance.
func (c Clock) View() ClockView {
	v := ClockView{State: c.state, Ran: c.ran, Over: c.over, Following: c.follows}
	if c.state == 0 {
		return v
	}
	if c.follows == CountingUp {
		v.Notice = phrase.Say("this timer only counts up, since there is no time: %s", c.refusal)
		return v
	}
	if c.share < 1 {
		v.Left = fromSeconds((1 - c.share) * c.bath.seconds(c.at))
	}
	v.Moved = c.ran - c.over + v.Left - c.promised
	v.Notice = c.notice(v.Moved)
	return v
}

func (c Clock) notice(moved time.Duration) phrase.Sentence {
	switch c.follows {
	case FollowingTrend:
		return phrase.Say("no reading for %s: the timer follows the trend of the last minutes", MinutesSeconds(c.silent()))
	case PlainClock:
		return phrase.Say("no reading for %s: this timer runs on its own and no longer follows the bath",
			MinutesSeconds(c.silent()))
	}
	if beyond := c.bath.beyond(c.at); !beyond.IsZero() {
		return beyond
	}
	seconds := int(moved.Round(time.Second) / time.Second)
	if seconds == 0 {
		return phrase.Sentence{}
	}
	return phrase.Say("the bath is at %s: the end has moved by %+d s", c.at.To(0.1), seconds)
}

// curve is the development time over temperature while a clock runs. It cannot
// refuse, since the film is already in: beyond the table it keeps the time of
// the table's end and says so.
type curve struct {
	table        Table
	hydroquinone bool
	scale        float64 // strength, use and emergence
}

func (k curve) ends() (low, high quantity.Celsius) {
	points := k.table.points
	low, high = points[0].At, points[len(points)-1].At
	if len(points) == 1 {
		low, high = min(low, HydroquinoneLimit()), max(high, generalLimit())
	}
	return low, high
}

func (k curve) seconds(c quantity.Celsius) float64 {
	low, high := k.ends()
	c = min(max(c, low), high)
	if len(k.table.points) == 1 {
		only := k.table.points[0]
		return k.scale * only.Time.Seconds() * math.Exp(-generalCoefficient*float64(c-only.At))
	}
	return k.scale * k.table.inside(c).Seconds()
}

// beyond says that the curve does not reach the temperature, or is empty.
func (k curve) beyond(c quantity.Celsius) phrase.Sentence {
	low, high := k.ends()
	switch {
	case k.hydroquinone && c < HydroquinoneLimit()-edgeTolerance:
		return phrase.Say("the bath is at %s, below %s, where hydroquinone loses its power: do not trust the time",
			c.To(0.1), HydroquinoneLimit().To(0.1))
	case c < low-edgeTolerance:
		return phrase.Say("the bath is at %s, colder than the table's first point: the timer keeps the rate of %s and may end early", c.To(0.1),
			low.To(0.1))
	case c > high+edgeTolerance:
		return phrase.Say("the bath is at %s, warmer than the table's last point: the timer keeps the rate of %s and may end late", c.To(0.1),
			high.To(0.1))
	}
	return phrase.Sentence{}
}
