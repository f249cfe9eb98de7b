package sensors

import (
	"cmp"
	"context"
	"errors"
	"fmt"
	"time"

	"wetside/sensors/quantity/phrase"
)

const (
	// heartbeat is the longest time between two updates of a line.
	heartbeat = time.Second
	// Bytes that waited longer than this behind a slow receiver can't be dated
	// truthfully any more and are dropped.
	staleAfter = 5 * time.Second
	never      = time.Duration(1<<63 - 1)
)

// WatchOptions say what a [Watch] watches and with what means.
type WatchOptions struct {
	ID       LineID
	Settings LineSettings
	Dialect  string // its name, for the status
	Opener   Opener
	Decoder  Decoder
	// Channels are keyed by the address the dialect uses on this line.
	Channels map[string]Channel
	Clock    Clock
	// Silence is how long the line may go without a good frame before it is silent.
	Silence time.Duration
	// Deliver takes an update and blocks until it is taken; an error ends the watch.
	Deliver func(ctx context.Context, u Update) error
}

// Watch owns one line: it opens it, for ever and with growing waits, decodes
// what arrives, judges and dates each measurement once, and delivers readings
// and the line's status. Everything in it belongs to the goroutine in Run.
type Watch struct {
	options WatchOptions
	gates   map[string]*Gate
	found   []Reading // of the present chunk; used again for the next
	status  LineStatus
	rate    minuteRate
	backoff Backoff

	stall  stall
	heard  Instant       // the opening or the last good frame since, whichever is later
	beatAt time.Duration // monotonic times at which something is due
	pollAt time.Duration
	timer  <-chan time.Time
	wakeAt time.Duration // when timer fires; never when there is none
}

// NewWatch prepares a watch; it fails when an option is missing or a channel's
// unit does not measure what the channel does.
func NewWatch(o WatchOptions) (*Watch, error) {
	switch {
	case o.ID == "" || o.Settings.Path == "":
		return nil, errors.New("a watched line needs a name and a device path")
	case o.Opener == nil || o.Decoder == nil || o.Clock == nil || o.Deliver == nil:
		return nil, fmt.Errorf("line %s: opener, decoder, clock and receiver are all needed", o.ID)
	case o.Silence <= 0:
		return nil, fmt.Errorf("line %s: the longest silence must be longer than zero", o.ID)
	}
	gates := make(map[string]*Gate, len(o.Channels))
	for address, c := range o.Channels {
		if c.Unit.Dimension() != c.Dimension || c.Dimension == 0 {
			return nil, fmt.Errorf("line %s: channel %s: expected a unit of %s, got %q", o.ID, c.ID, c.Dimension, c.Unit)
		}
		gates[address] = NewGate(c)
	}
	return &Watch{options: o, gates: gates, backoff: Backoff{First: firstWait, Longest: maxWait}, pollAt: never, wakeAt: never,
		status: LineStatus{ID: o.ID, Path: o.Settings.Path, Dialect: o.Dialect, State: StateOpening}}, nil
}

var errUndelivered = errors.New("an update could not be delivered")

// Run watches the line until ctx ends and returns nil once the line is closed;
// an error only when the receiver refused an update. It is to be called once.
func (w *Watch) Run(ctx context.Context) error {
	now := w.options.Clock.Now()
	w.status.Since = now
	err := w.deliver(ctx, now, nil)
	for err == nil && ctx.Err() == nil {
		cause := w.session(ctx)
		if ctx.Err() != nil || errors.Is(cause, errUndelivered) {
			err = cause
			break
		}
		if err = w.lose(ctx, cause); err == nil {
			wait := w.backoff.Next()
			if errors.Is(cause, ErrAbsent) {
				wait = min(wait, absentWait)
			}
			err = w.pause(ctx, wait)
		}
	}
	if ctx.Err() != nil {
		return nil
	}
	return err
}

// session opens the line, serves it and closes it; it gives the cause of its end.
func (w *Watch) session(ctx context.Context) error {
	line, err := w.options.Opener.Open(ctx, w.options.Settings)
	if err != nil {
		return err
	}
	err = w.serve(ctx, line)
	if failed := line.Close(); failed != nil {
		err = phrase.Errorf("%w; %w", err, failed)
	}
	return err
}

// serve handles what the line brings until it is gone or ctx ends.
func (w *Watch) serve(ctx context.Context, line Line) error {
	now := w.options.Clock.Now()
	w.options.Decoder.Reset()
	w.status.Opens++
	w.heard, w.pollAt = now, now.Mono
	w.enter(StateWaiting, now)
	w.stall = stall{} // what waited before the opening was thrown away
	if err := w.deliver(ctx, now, nil); err != nil {
		return err
	}
	for {
		var data []byte
		select {
		case <-ctx.Done():
			return ctx.Err()
		case chunk, open := <-line.Chunks():
			if !open {
				return cmp.Or(line.Err(), ErrGone)
			}
			data = chunk
		case <-w.alarm(min(w.pollAt, w.silentAt())):
			w.wakeAt = never
		}
		w.stall.look(realTime(w.options.Clock), w.options.Clock.Now())
		if err := w.step(ctx, line, data); err != nil {
			return err
		}
	}
}

// silentAt is when the line becomes silent unless a good frame comes.
func (w *Watch) silentAt() time.Duration {
	if w.status.State == StateSilent {
		return never
	}
	return w.heard.Mono + w.options.Silence + 1
}

// step handles one chunk, or none when something is due: it decodes, judges,
// sends and delivers, in this order. A line lost in sending is reported after
// its last readings are delivered.
func (w *Watch) step(ctx context.Context, line Line, data []byte) error {
	now := w.options.Clock.Now()
	came, waited := w.stall.since(realTime(w.options.Clock), now)
	var readings []Reading
	heard := false
	if len(data) > 0 {
		w.status.Bytes += uint64(len(data))
		readings, heard = w.receive(w.options.Decoder.Feed(now, data), came)
		w.found = readings
	}
	if waited {
		doubtWaited(readings)
	}
	lost := w.poll(line, now, len(data) > 0)
	before := w.status.State
	if heard {
		w.heard = came
		w.backoff.Reset()
		w.enter(StateLive, now)
	} else if now.Mono >= w.silentAt() {
		w.enter(StateSilent, now)
	}
	if len(readings) > 0 || w.status.State != before || now.Mono >= w.beatAt {
		if err := w.deliver(ctx, now, readings); err != nil {
			return err
		}
		w.dropStale(line, now)
	}
	return lost
}

// poll asks the decoder what to send when bytes came or its time has come, and sends it.
func (w *Watch) poll(line Line, now Instant, fed bool) error {
	if !fed && now.Mono < w.pollAt {
		return nil
	}
	send, failed, wait := w.options.Decoder.Poll(now)
	w.receive(failed, now)
	w.pollAt = never
	if wait > 0 {
		w.pollAt = now.Mono + wait
	}
	if len(send) > 0 {
		return line.Write(send)
	}
	return nil
}

// receive counts frames and judges their measurements; heard says whether a good
// frame that we read was among them.
func (w *Watch) receive(frames []Frame, now Instant) (readings []Reading, heard bool) {
	readings = w.found[:0]
	for i := range frames {
		f := &frames[i]
		before := len(readings)
		if f.Result == FrameGood {
			readings = w.judge(f, readings, now)
		}
		if f.Result != FrameGood || len(readings) == before {
			w.noteBad(f)
			continue
		}
		heard = true
		w.status.Frames.add(FrameGood)
		w.status.LastGood, w.status.EverGood, w.status.LastText = now, true, f.Text
		w.rate.add(now, 1)
	}
	w.status.Readings += uint64(len(readings))
	return readings, heard
}

// doubtWaited grades values that waited for nobody knows how long.
func doubtWaited(readings []Reading) {
	for i := range readings {
		if readings[i].Grade == Good {
			readings[i].Grade, readings[i].Reason = Suspect, Waited
		}
	}
}

// noteBad counts a frame without a reading in it; a good frame from unknown
// addresses alone is one that we ignore.
func (w *Watch) noteBad(f *Frame) {
	switch f.Result {
	case FrameGood, FrameIgnored:
		w.status.Frames.add(FrameIgnored)
	default:
		w.status.Frames.add(f.Result)
		w.status.LastBadText = f.Text
	}
}

func (w *Watch) judge(f *Frame, readings []Reading, now Instant) []Reading {
	for i := range f.Measurements {
		m := &f.Measurements[i]
		gate, known := w.gates[m.Address]
		if !known {
			w.status.Unknown++
			w.status.LastUnknown = m.Address
			continue
		}
		readings = append(readings, gate.Judge(*m, now))
	}
	return readings
}

// enter changes the state, and the time since when it holds.
func (w *Watch) enter(s LineState, now Instant) {
	if w.status.State != s {
		w.status.State, w.status.Since = s, now
	}
}

// lose notes that the line is not there, and why. A line that was open for long
// without a good frame is as well worth a quick second try as one that spoke.
func (w *Watch) lose(ctx context.Context, cause error) error {
	now := w.options.Clock.Now()
	if s := w.status.State; (s == StateWaiting || s == StateSilent) && now.Since(w.heard) > maxWait {
		w.backoff.Reset()
	}
	w.status.LastError = phrase.Say("%v", cause)
	w.enter(StateGone, now)
	return w.deliver(ctx, now, nil)
}

// pause waits between attempts, with the heart still beating.
func (w *Watch) pause(ctx context.Context, d time.Duration) error {
	now := w.options.Clock.Now()
	for until := now.Mono + d; now.Mono < until; now = w.options.Clock.Now() {
		if now.Mono >= w.beatAt {
			if err := w.deliver(ctx, now, nil); err != nil {
				return err
			}
		}
		select {
		case <-ctx.Done():
			return ctx.Err()
		case <-w.alarm(until):
			w.wakeAt = never
		}
	}
	return nil
}

// deliver hands on the status with the readings, and winds the heartbeat.
func (w *Watch) deliver(ctx context.Context, now Instant, readings []Reading) error {
	w.status.RatePerMinute = w.rate.perMinute(now)
	w.beatAt = now.Mono + heartbeat
	if err := w.options.Deliver(ctx, Update{Status: w.status, Readings: readings}); err != nil {
		return fmt.Errorf("line %s: %w: %w", w.status.ID, errUndelivered, err)
	}
	return nil
}

// dropStale throws away what queued up while the receiver kept us waiting.
func (w *Watch) dropStale(line Line, before Instant) {
	now := w.options.Clock.Now()
	if now.Since(before) < staleAfter {
		return
	}
	w.options.Decoder.Reset()
	w.pollAt = now.Mono
	for {
		select {
		case chunk, open := <-line.Chunks():
			if !open {
				return
			}
			w.status.Bytes += uint64(len(chunk))
			w.status.Dropped += uint64(len(chunk))
		default:
			return
		}
	}
}

// alarm fires at the earlier of the next heartbeat and a due time. One that is
// already set to fire no later is used again, so that a busy line makes no timers.
func (w *Watch) alarm(due time.Duration) <-chan time.Time {
	due = min(due, w.beatAt)
	if due < w.wakeAt {
		w.wakeAt = due
		w.timer = w.options.Clock.After(max(0, due-w.options.Clock.Now().Mono))
	}
	return w.timer
}

const (
	// stalledAfter is how long a watch, which wakes every second, may sleep before it
	// counts as having stood still: the process was stopped, or had no processor.
	stalledAfter = 3 * time.Second
	// settling is how long after that bytes still come in that waited meanwhile in the
	// operating system and in the queue of the line.
	settling = time.Second
)

// stall says since when the bytes that come in now may have waited. It goes by the
// computer's own time: how long a process stood still is no matter of a simulated clock.
type stall struct {
	looked   time.Time // when the watch looked last
	at       Instant   // the same by the clock of the watch
	earliest Instant   // when the bytes that come in now can have come at the earliest
	until    time.Time // when everything that waited has been read
}

// realTime is the computer's own time, for a clock that runs faster too. A clock that only
// moves when a test says so knows better what passed: how long the test took is no stall.
func realTime(c Clock) time.Time {
	if own, has := c.(interface{ Real() time.Time }); has {
		return own.Real()
	}
	return time.Now()
}

// look notes that the watch looks for bytes now.
func (s *stall) look(real time.Time, now Instant) {
	if !s.looked.IsZero() && real.Sub(s.looked) > stalledAfter {
		if !real.Before(s.until) { // a further one leaves the first moment as it is
			s.earliest = s.at
		}
		s.until = real.Add(settling)
	}
	s.looked, s.at = real, now
}

// since gives when bytes that are read now can have come at the earliest, and whether
// that is earlier than now.
func (s *stall) since(real time.Time, now Instant) (earliest Instant, waited bool) {
	if real.Before(s.until) {
		return s.earliest, true
	}
	return now, false
}
