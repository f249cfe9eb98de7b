package daemon

import (
	"context"
	"encoding/json"
	"errors"
	"fmt"

	"wetside/daemon/history"
	"wetside/rules"
	"wetside/sensors"
)

// keeping puts what a turn brought into the history before it is shown, and says
// whether it is being kept. It never waits longer than [patience].
type keeping struct {
	store *history.Store
	room  string
}

// samples appends the readings of a turn.
func (k keeping) samples(ctx context.Context, readings []sensors.Reading) error {
	if len(readings) == 0 {
		return nil
	}
	batch := history.Batch{Samples: make([]history.Sample, len(readings))}
	for i, r := range readings {
		batch.Samples[i] = history.Sample{Channel: r.Channel, At: r.At.Wall, Raw: r.Raw, Grade: r.Grade, Reason: r.Reason}
	}
	return k.patiently(ctx, func(ctx context.Context) error { return k.store.Append(ctx, batch) })
}

// events records the changes of a turn, and the gaps that they open and close.
func (k keeping) events(ctx context.Context, events []rules.Event) error {
	if len(events) == 0 {
		return nil
	}
	entries := make([]history.Entry, len(events))
	var gaps history.Batch
	for i, e := range events {
		content, err := json.Marshal(e)
		if err != nil {
			return fmt.Errorf("an event can't be written down: %w", err)
		}
		entries[i] = history.Entry{Kind: e.Kind, Room: k.room, Person: e.Person, Content: content}
		if e.Kind == rules.ChannelQuality {
			addGap(&gaps, e)
		}
	}
	return k.patiently(ctx, func(ctx context.Context) error {
		_, err := k.store.RecordAll(ctx, entries)
		if err != nil || len(gaps.GapsOpened)+len(gaps.GapsClosed) == 0 {
			return err
		}
		return k.store.Append(ctx, gaps)
	})
}

// addGap opens a gap when a channel stops giving good values, and closes it when it does again.
func addGap(b *history.Batch, e rules.Event) {
	id := sensors.ChannelID(e.Subject)
	if e.To == sensors.Good.String() {
		b.GapsClosed = append(b.GapsClosed, history.Gap{Channel: id, To: e.Begun})
		return
	}
	if e.From == sensors.Good.String() {
		b.GapsOpened = append(b.GapsOpened, history.Gap{Channel: id, From: e.Begun, Cause: e.Cause})
	}
}

// patiently gives a write the time that a loop can spare.
func (k keeping) patiently(ctx context.Context, write func(context.Context) error) error {
	ctx, cancel := context.WithTimeout(ctx, patience)
	defer cancel()
	err := write(ctx)
	if errors.Is(err, context.DeadlineExceeded) {
		return errors.New("the disk is slow: what is shown is not yet kept")
	}
	return err
}
