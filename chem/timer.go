package chem

import (
	"math"
	"time"

	"wetside/sensors/quantity"
	"wetside/sensors/quantity/phrase"
)

// TimerState is where a development timer stands.
type TimerState uint8

// The states. The zero state is no timer at all.
const (
	TimerReady TimerState = iota + 1
	TimerRunning
	TimerPaused
	TimerDone
)

// Following says what a running timer goes by.
type Following uint8

// What a timer goes by. The zero value is nothing yet.
const (
	FollowingBath  Following = iota + 1 // the measured temperature
	FollowingTrend                      // the trend of the last minutes: the probe is silent
	PlainTimer                          // nothing: the probe has been silent for too long
	CountingUp                          // nothing: there is no time to count down
)

const (
	freshFor   = 10 * time.Second // how old a measurement may be between two readings of a probe
	trendFor   = 3 * time.Minute  // how long a silent probe is bridged by the trend
	undoWithin = time.Minute      // how long a press can be taken back
)

// Timer times one film or print in one bath. It integrates the rate of development
// at the temperature measured, so that its end moves when the bath drifts. It is
// a value: every method gives a new one, and all times are monotonic.
type Timer struct {
	bath     curve
	promised time.Duration
	state    TimerState
	share    float64       // developed so far, 1 is finished
	ran      time.Duration // time in the bath so far
	over     time.Duration // time in the bath past the end
	now      time.Duration
	at       quantity.Celsius
	seen     track
	before   *Timer // the timer had the last press not been made
	pressed  time.Duration
	follows  Following
	refusal  phrase.Sentence // why it only counts up
}

// NewPlainTimer prepares a timer for a film or print that goes in although there is
// no time for it: it counts up and says why.
func NewPlainTimer(refusal phrase.Sentence, now time.Duration) Timer {
	return Timer{state: TimerReady, now: now, follows: CountingUp, refusal: refusal}
}

// NewTimer prepares a timer for what [Tonight] recommends at a moment; a refusal
// is the error.
func NewTimer(in Inputs, now time.Duration) (Timer, error) {
	r := Tonight(in)
	t, ok := r.Time()
	if !ok {
		return Timer{}, Refusal{r.Refusal()}
	}
	at, _ := in.Temperature.Value()
	bath := curve{table: in.Table, hydroquinone: in.HydroquinoneFloor, scale: 1}
	bath.scale = t.Seconds() / bath.seconds(at)
	c := Timer{bath: bath, promised: t, state: TimerReady, now: now, at: at, follows: FollowingBath}
	c.seen = c.seen.with(Sample{At: now, Temperature: at})
	return c, nil
}

// Start is the moment at which the film or print goes in.
func (c Timer) Start(now time.Duration) (Timer, error) {
	return c.press(now, TimerReady, TimerRunning, phrase.Errorf("only a timer that is ready can be started"))
}

// Pause is for a print that is taken out of the bath.
func (c Timer) Pause(now time.Duration) (Timer, error) {
	return c.press(now, TimerRunning, TimerPaused, phrase.Errorf("only a running timer can be paused"))
}

// Resume is for a print that goes back into the bath.
func (c Timer) Resume(now time.Duration) (Timer, error) {
	return c.press(now, TimerPaused, TimerRunning, phrase.Errorf("only a paused timer can be resumed"))
}

func (c Timer) press(now time.Duration, from, to TimerState, mistake error) (Timer, error) {
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
func (c Timer) Undo(now time.Duration) (Timer, error) {
	c = c.Advance(now, BathTemperature{})
	if c.before == nil || now-c.pressed > undoWithin {
		return c, phrase.Errorf("there is nothing to undo: a press can be undone for one minute")
	}
	return *c.before, nil
}

// Advance brings the timer to a moment with the bath temperature measured there;
// pass the zero BathTemperature when the probe is silent. A moment in the past
// changes nothing.
func (c Timer) Advance(now time.Duration, measured BathTemperature) Timer {
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
		if c.state == TimerRunning {
			c.ran += span
		}
		return c
	}
	c.follow(measured)
	if c.state == TimerRunning || c.state == TimerDone {
		c.develop(span, was)
	}
	return c
}

// follow settles the temperature to go by: the measured one, the trend, or the
// last estimate.
func (c *Timer) follow(measured BathTemperature) {
	if at, known := measured.Value(); known {
		c.at, c.follows = at, FollowingBath
		c.seen = c.seen.with(Sample{At: c.now, Temperature: at})
		return
	}
	switch silent := c.silent(); {
	case silent > trendFor:
		c.follows = PlainTimer
	case silent > freshFor:
		c.at, c.follows = c.seen.at(c.now), FollowingTrend
	}
}

// silent is how long no temperature has come.
func (c Timer) silent() time.Duration { return c.now - c.seen[len(c.seen)-1].At }

// develop adds what a span in the bath does, at the mean of the rates at its ends.
func (c *Timer) develop(span time.Duration, was quantity.Celsius) {
	c.ran += span
	rate := (1/c.bath.seconds(was) + 1/c.bath.seconds(c.at)) / 2
	c.share += span.Seconds() * rate
	if c.share < 1 {
		return
	}
	if c.state == TimerRunning {
		span = min(span, fromSeconds((c.share-1)/rate))
	}
	c.state = TimerDone
	c.over += span
}

// TimerView is what a timer shows.
type TimerView struct {
	State TimerState
	// Left is the time to the end at the temperature now; zero when done, and for
	// a timer that only counts up.
	Left time.Duration
	// Ran is the time in the bath so far, Over the part of it past the end.
	Ran, Over time.Duration
	// Moved is how much later the end is than was promised at the start.
	Moved time.Duration
	// Following is what the timer goes by.
	Following Following
	// Notice is a sentence when the end has moved or the timer no longer follows
	// the bath; else empty.
	Notice phrase.Sentence
}

// View is what the timer shows at the moment of its last advance.
func (c Timer) View() TimerView {
	v := TimerView{State: c.state, Ran: c.ran, Over: c.over, Following: c.follows}
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

func (c Timer) notice(moved time.Duration) phrase.Sentence {
	switch c.follows {
	case FollowingTrend:
		return phrase.Say("no reading for %s: the timer follows the trend of the last minutes", MinutesSeconds(c.silent()))
	case PlainTimer:
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

// curve is the development time over temperature while a timer runs. It cannot
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
