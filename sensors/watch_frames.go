package sensors

import (
	"context"
	"fmt"
	"time"

	"wetside/sensors/quantity/phrase"
)

// take counts frames and judges their measurements; heard says whether a good
// frame that we read was among them.
func (w *Watch) take(frames []Frame, now Instant) (readings []Reading, heard bool) {
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
