package daemon

import (
	"context"
	"encoding/json"
	"errors"
	"strings"
	"time"

	"wetside/daemon/history"
	"wetside/rules"
	"wetside/rules/access"
	"wetside/rules/record"
	"wetside/sensors"
	"wetside/sensors/quantity/phrase"
)

// command is a step of a person's act in the room's loop: first its check, then,
// once it is recorded, its effect. The disk is waited for outside of the loop.
type command struct {
	step  func(*room) error
	reply chan error
}

// obey runs the step now and replies once the turn that shows its effect is over.
func (r *room) obey(c command) func() {
	err := c.step(r)
	return func() { c.reply <- err }
}

// errRetired says that the loop that was to carry a step out has ended for good.
var errRetired = phrase.Errorf("the room was ended or read its configuration again: load the page and try again")

// ask runs a step in the room's loop. A step that the loop has taken is always
// answered; one that it never takes ends with the room.
func (r *room) ask(ctx context.Context, step func(*room) error) error {
	c := command{step, make(chan error, 1)}
	select {
	case r.commands <- c:
	case <-r.retired:
		return errRetired
	case <-ctx.Done():
		return phrase.Errorf("the room did not answer in time: try again")
	}
	select {
	case err := <-c.reply:
		return err
	case <-ctx.Done():
		return phrase.Errorf("the room did not answer in time: check whether it was done before you try again")
	}
}

// do takes an act from its check to its record to its effect. Acts in one room
// follow one another, so that a check still holds when its record is written.
func (r *room) do(ctx context.Context, c rules.Command) (rules.Receipt, error) {
	if err := access.Allow(ctx, rules.LeastFor(c.Act)); err != nil {
		return rules.Receipt{}, err
	}
	ctx, cancel := context.WithTimeout(ctx, 10*time.Second)
	defer cancel()
	select {
	case r.doing <- struct{}{}:
		defer func() { <-r.doing }()
	case <-ctx.Done():
		return rules.Receipt{}, phrase.Errorf("another entry is still being written: try again")
	}
	c.At = r.clock.Now()
	check := func(r *room) error {
		c.Act = rules.Beside(r.config.Room, r.board, c)
		return rules.Check(r.config.Room, r.board, c)
	}
	if err := r.ask(ctx, check); err != nil {
		return rules.Receipt{}, err
	}
	content, err := json.Marshal(c.Act)
	if err != nil {
		return rules.Receipt{}, phrase.Errorf("the entry can't be written down: %w", err)
	}
	record, err := r.store.Record(ctx, history.Entry{Kind: c.Act.Kind(), Room: r.config.ID, Person: strings.TrimSpace(c.Person),
		Content: content})
	if err != nil {
		return rules.Receipt{}, unrecorded(err)
	}
	done := rules.Done{Command: c, Record: record.Number, At: record.At}
	// The act is on record: its effect no longer depends on the patience of whoever asked.
	err = r.ask(context.WithoutCancel(ctx), func(r *room) error { return r.apply(done) })
	if errors.Is(err, errRetired) {
		return rules.Receipt{}, phrase.Errorf("it is on record as number %d, but the room ended before it was shown: look at the board "+
			"before entering it again", record.Number)
	}
	if err != nil {
		return rules.Receipt{}, err
	}
	return rules.Receipt{Number: record.Number, Sentence: done.Sentence(r.config.Room)}, nil
}

func (r *room) apply(d rules.Done) error {
	var err error
	r.board, err = rules.Apply(r.board, d, r.clock.Now())
	return err
}

// recall brings back what stood in the trays and where alarms stood, from the record book.
func (r *room) recall(ctx context.Context) error {
	bring := func(rec record.Record) { r.board = rules.Recall(r.board, rec) }
	if err := r.recalls.each(ctx, r.config.ID, 0, bring); err != nil {
		return err
	}
	kinds, within := rules.LatelyKinds()
	lately := history.Query{Room: r.config.ID, Kinds: kinds, From: r.clock.Now().Wall.Add(-within)}
	for rec, err := range r.store.EachTold(ctx, lately) {
		if err != nil {
			return phrase.Errorf("the record book of room %s can't be read: %w", r.config.ID, err)
		}
		bring(rec)
	}
	return r.recallGases(ctx)
}

// recallGases goes on with each gas from the readings that are kept, as far back as its
// averages reach: by wall time, since nothing else is known of the time before the start.
func (r *room) recallGases(ctx context.Context) (err error) {
	now := r.clock.Now()
	for _, g := range r.config.Gases {
		r.board = rules.RecallGas(r.board, g, func(yield func(sensors.Reading) bool) {
			for s, failed := range r.store.Samples(ctx, g.Channel, now.Wall.Add(-rules.GasRecall), now.Wall) {
				if failed != nil {
					err = phrase.Errorf("the readings of the gas %s can't be read: %w", g.Agent.Name, failed)
					return
				}
				if !s.Imported && !yield(r.readAgain(s, now)) {
					return
				}
			}
		})
		if err != nil {
			return err
		}
	}
	return nil
}

// readAgain is a kept sample as the reading that it was, by what is known of its probe now.
func (r *room) readAgain(s history.Sample, now sensors.Instant) sensors.Reading {
	probed, _ := r.board.Probes.Life(s.Channel)
	c := probed.True()
	again := sensors.Reading{Channel: s.Channel, At: sensors.Instant{Wall: s.At, Mono: now.Mono - now.Wall.Sub(s.At)},
		Raw: s.Raw, Value: c.Correct(c.Unit.ToBase(s.Raw), s.At), Grade: s.Grade, Reason: s.Reason}
	switch trusted := r.board.Probes.Trust(s.Channel).Counts(s.At, s.Grade, s.Reason); {
	case trusted:
		again.Grade, again.Reason = sensors.Good, ""
	case s.Grade == sensors.Good:
		again.Grade, again.Reason = sensors.Suspect, sensors.LooksWrong
	}
	return again
}
