package daemon

import (
	"context"
	"encoding/json"
	"errors"
	"fmt"
	"time"

	"wetside/daemon/history"
	"wetside/rules"
	"wetside/sensors"
	"wetside/sensors/quantity/phrase"
)

const (
	// patience is how long a turn waits for the disk, in all, before it goes on: a
	// frame that has to wait for the turn before it as well is still shown within 100 ms.
	patience = 40 * time.Millisecond
	// slowFor is how long the disk may be late before people are told.
	slowFor = 3 * time.Second
	// mostHeld is how many samples are held back for a disk that takes nothing: some
	// minutes of a large room. Beyond it the oldest are let go, which shows as a gap.
	mostHeld = 100_000
)

// keeper puts what turns brought into the history: records before they are shown, and
// samples with them or at the next tick, so that ten lines are written as seldom as one and
// a cheap memory card lives longer. What a slow or full disk does not take is held back and
// tried again, so that the room goes on meanwhile and no event is lost. Of the loop's
// goroutine alone.
type keeper struct {
	store   *history.Store
	room    string
	samples []history.Sample
	events  []history.Entry
	gaps    history.Batch
	lateBy  sensors.Instant // since when the disk is late
	late    bool
}

// add notes a reading that is to be kept. A probe that reports a fault sent no value to keep.
func (k *keeper) add(r sensors.Reading) {
	if r.Grade != sensors.Missing {
		k.samples = append(k.samples, history.Sample{Channel: r.Channel, At: r.At.Wall, Raw: r.Raw, Grade: r.Grade, Reason: r.Reason})
	}
}

// note turns the changes of a turn into records, and the gaps that they open and close.
func (k *keeper) note(events []rules.Event) error {
	for _, e := range events {
		content, err := json.Marshal(e)
		if err != nil {
			return fmt.Errorf("an event can't be written down: %w", err)
		}
		k.events = append(k.events, history.Entry{Kind: e.Kind, Room: k.room, Person: e.Person, Content: content})
		if e.Kind == rules.ChannelQuality {
			k.noteGap(e)
		}
	}
	return nil
}

// noteGap opens a gap when a channel stops giving good values, and closes it when it does again.
func (k *keeper) noteGap(e rules.Event) {
	id := sensors.ChannelID(e.Subject)
	switch sensors.Good.String() {
	case e.To:
		k.gaps.GapsClosed = append(k.gaps.GapsClosed, history.Gap{Channel: id, To: e.Begun})
	case e.From:
		k.gaps.GapsOpened = append(k.gaps.GapsOpened, history.Gap{Channel: id, From: e.Begun, Cause: e.Cause})
	}
}

// mustKeep says whether there is anything to write by now: records at once, samples when they are due.
func (k *keeper) mustKeep(due bool) bool { return len(k.events) > 0 || due && len(k.samples) > 0 }

func (k *keeper) keep(ctx context.Context, now sensors.Instant) error {
	return errors.Join(k.keepSamples(ctx), k.keepEvents(ctx, now))
}

func (k *keeper) keepSamples(ctx context.Context) error {
	if len(k.samples) == 0 {
		return nil
	}
	if over := len(k.samples) - mostHeld; over > 0 {
		k.samples = append(k.samples[:0], k.samples[over:]...)
	}
	err := k.store.Append(ctx, history.Batch{Samples: k.samples, Durable: true})
	if !errors.Is(err, history.ErrQueueFull) {
		k.samples = nil // taken, or refused: what was refused becomes a gap
	}
	return err
}

// keepEvents writes the records and gaps at hand. What has to wait is written as a late entry.
func (k *keeper) keepEvents(ctx context.Context, now sensors.Instant) error {
	if len(k.events) == 0 {
		return nil
	}
	_, err := k.store.RecordAll(ctx, k.events)
	if err != nil && !errors.Is(err, history.ErrSlow) {
		for i := range k.events {
			if k.events[i].Happened.IsZero() {
				k.events[i].Happened = now.Wall
			}
		}
		return err
	}
	k.events = nil
	if len(k.gaps.GapsOpened)+len(k.gaps.GapsClosed) == 0 {
		return err
	}
	gaps := k.gaps
	k.gaps = history.Batch{}
	return errors.Join(err, k.store.Append(ctx, gaps))
}

// judge says whether what comes in is being kept. A disk that is late for a moment
// is no news: what it took, it will write.
func (k *keeper) judge(err error, now sensors.Instant) rules.HistoryView {
	lateness := errors.Is(err, history.ErrSlow) || errors.Is(err, history.ErrQueueFull)
	switch {
	case err == nil:
		k.late = false
		return rules.HistoryView{Kept: true}
	case !lateness:
		return rules.HistoryView{Sentence: phrase.Say("%s", err)}
	case !k.late:
		k.late, k.lateBy = true, now
	}
	if late := now.Since(k.lateBy); late > slowFor {
		return rules.HistoryView{Sentence: phrase.Say("The disk has been too slow for %s: what is shown is not yet kept. "+
			"Look what else uses it.", rules.Age(late))}
	}
	return rules.HistoryView{Kept: true}
}
