package daemon

import (
	"context"
	"encoding/json"
	"errors"
	"slices"
	"strings"
	"time"

	"go.uber.org/zap"

	"wetside/chem/ledger"
	"wetside/daemon/history"
	"wetside/dashboard/cards"
	"wetside/sensors/quantity"
	"wetside/sensors/quantity/phrase"
)

// bookkeeper is what the goroutine of the shelf's loop has at hand: the book, which it alone
// changes, and the shelf in which it shows the book.
type bookkeeper struct {
	*shelf
	*chemistry
	behind bool // a record may have been written that the book does not have yet
}

// run reads the book and carries out one step after another until ctx ends.
func (k *bookkeeper) run(ctx context.Context) {
	defer close(k.ended)
	if err := k.readOn(ctx); err != nil {
		k.unread = phrase.Errorf("the book of the shelf can't be read: %w", err)
		if ctx.Err() == nil {
			k.log.Error("the book of the shelf can't be read", zap.Error(err))
		}
	}
	k.emergence = k.emergences(ctx, k.chemistry)
	k.show()
	close(k.ready)
	for {
		select {
		case <-ctx.Done():
			return
		case step := <-k.steps:
			step(k)
		}
	}
}

// show lets pages and rooms read the book as it is now.
func (k *bookkeeper) show() { k.shown.Store(k.chemistry.copy()) }

// readOn takes the records of the book that were not looked at yet. A record that no longer
// makes sense stays in the book and is passed over; the log says so.
func (k *bookkeeper) readOn(ctx context.Context) error {
	var fresh []ledger.Entry
	kinds := append(ledger.KindNames(), ledger.RoomFound, ledger.NoteLeft)
	for rec, err := range k.store.EachTold(ctx, history.Query{Kinds: kinds, AfterNumber: k.read}) {
		if err != nil {
			return err
		}
		if e, ok := k.recall(rec, k.log); ok {
			fresh = append(fresh, e)
		}
	}
	k.fold(fresh, k.log)
	return nil
}

// enter takes an entry from its check to its record to its effect.
func (k *bookkeeper) enter(ctx context.Context, e cards.ShelfEntry) (cards.ShelfReceipt, error) {
	if k.unread != nil {
		return cards.ShelfReceipt{}, phrase.Errorf("nothing can be entered: %w", k.unread)
	}
	before, err := k.check(ctx, e)
	if err != nil {
		return before, err
	}
	receipt, err := k.record(ctx, e)
	receipt.Before, receipt.Warnings = before.Before, before.Warnings
	return receipt, err
}

// entry is what the ledger is to take, as things stand now.
func (k *bookkeeper) entry(e cards.ShelfEntry) ledger.Entry {
	now := k.clock.Now().Wall.In(k.zone).Truncate(time.Millisecond)
	out := ledger.Entry{At: now, Entered: now, By: e.Person, Session: e.Session, Seen: e.Seen, Act: e.Act}
	if !e.Happened.IsZero() {
		out.At = e.Happened.In(k.zone).Truncate(time.Millisecond)
	}
	return out
}

// check asks the ledger, after what has to be entered before. A tray of the configuration that
// the book does not know is given its name first.
func (k *bookkeeper) check(ctx context.Context, e cards.ShelfEntry) (before cards.ShelfReceipt, err error) {
	if k.behind {
		if err := k.readOn(ctx); err != nil {
			return before, err
		}
	}
	if e.Act == nil {
		return before, nil
	}
	entry := k.entry(e)
	if entry.Late() && strings.TrimSpace(e.Reason) == "" {
		return before, cards.ErrWhyLate
	}
	if len(e.Before) > 0 {
		if before, err = k.enterBefore(ctx, e); err != nil {
			return before, err
		}
		entry = k.afterwards(e)
	}
	err = k.ledger.Check(entry)
	if tray, unnamed := k.unnamed(e.Act); unnamed && errors.Is(err, ledger.ErrUnknown) {
		if err = k.nameTray(ctx, e, tray); err == nil {
			entry = k.afterwards(e)
			err = k.ledger.Check(entry)
		}
	}
	if err != nil {
		return before, err
	}
	before.Warnings = append(before.Warnings, k.ledger.Warnings(entry)...)
	return before, nil
}

// afterwards is an entry that follows what was just entered for it, which nobody has seen yet.
func (k *bookkeeper) afterwards(e cards.ShelfEntry) ledger.Entry {
	entry := k.entry(e)
	entry.Seen = k.ledger.Version()
	return entry
}

// enterBefore enters what an act needs, such as the bottle that it pours into.
func (k *bookkeeper) enterBefore(ctx context.Context, e cards.ShelfEntry) (all cards.ShelfReceipt, err error) {
	for _, act := range e.Before {
		needed := e
		needed.Act, needed.Before, needed.Note, needed.Seen = act, nil, nil, 0
		one, err := k.enter(ctx, needed)
		if err != nil {
			return all, err
		}
		all.Before, all.Warnings = append(all.Before, one.Number), append(all.Warnings, one.Warnings...)
	}
	return all, nil
}

// enterNeeded enters what nobody has typed but what an entry needs.
func (k *bookkeeper) enterNeeded(ctx context.Context, needed cards.ShelfEntry) error {
	needed.Note, needed.Seen = nil, 0
	if err := k.ledger.Check(k.entry(needed)); err != nil {
		return err
	}
	_, err := k.record(ctx, needed)
	return err
}

// unmeasured is what a tray is taken to hold until somebody enters what it does:
// more than any tray on a bench, so that nothing is refused for a guess.
const unmeasured quantity.Millilitre = 20000

// unnamed is the first tray of the configuration that an act is about; whether the
// book knows it at the time of the act, the check has said.
func (b *chemistry) unnamed(a ledger.Act) (cards.ShelfTray, bool) {
	for _, id := range ledger.Fills(a) {
		if t, known := b.tray(id); known {
			return t, true
		}
	}
	return cards.ShelfTray{}, false
}

// tray is the tray of the configuration that a container is.
func (b *chemistry) tray(container string) (cards.ShelfTray, bool) {
	at := slices.IndexFunc(b.trays, func(t cards.ShelfTray) bool { return t.Container == container })
	if at < 0 {
		return cards.ShelfTray{}, false
	}
	return b.trays[at], true
}

// nameTray enters a tray that stands in the configuration, from the time of the act on.
func (k *bookkeeper) nameTray(ctx context.Context, e cards.ShelfEntry, tray cards.ShelfTray) error {
	for _, id := range ledger.Fills(e.Act) {
		t, configured := k.tray(id)
		if _, known := k.ledger.Container(id); !configured || known && id != tray.Container {
			continue
		}
		naming := e
		naming.Room = t.Room
		naming.Act = ledger.ContainerNamed{Container: t.Container, Vessel: ledger.Tray, Capacity: unmeasured, Bath: t.Bath}
		if err := k.enterNeeded(ctx, naming); err != nil {
			return err
		}
	}
	return nil
}

// record writes the act and the note, both or neither, and then shows them.
func (k *bookkeeper) record(ctx context.Context, e cards.ShelfEntry) (cards.ShelfReceipt, error) {
	entries, err := recordsOf(e)
	if err != nil {
		return cards.ShelfReceipt{}, err
	}
	records, err := k.store.RecordAll(ctx, entries)
	if err != nil {
		k.behind = true // a slow disk may still write them
		return cards.ShelfReceipt{}, unrecorded(err)
	}
	// It is on record: its effect no longer depends on the patience of whoever asked.
	ctx = context.WithoutCancel(ctx)
	err = k.accept(ctx, records)
	k.emergence = k.emergences(ctx, k.chemistry)
	k.show()
	late := len(k.records) > 0 && e.Act != nil && k.records[len(k.records)-1].Late()
	return cards.ShelfReceipt{Number: records[0].Number, Late: late}, err
}

// accept takes records that were just written. Where others may have been written before them
// all are read: the disk writes in the order in which it was asked to.
func (k *bookkeeper) accept(ctx context.Context, records []history.Record) error {
	if k.behind {
		err := k.readOn(ctx)
		k.behind = err != nil
		return err
	}
	var fresh []ledger.Entry
	for _, r := range records {
		if e, ok := k.recall(history.Told(r), k.log); ok {
			fresh = append(fresh, e)
		}
	}
	k.fold(fresh, k.log)
	return nil
}

// unrecorded says that an entry was not recorded, or may not have been.
func unrecorded(err error) error {
	if errors.Is(err, history.ErrSlow) {
		return phrase.Errorf("the disk is slow: check whether the entry was recorded before you enter it again: %w", err)
	}
	return phrase.Errorf("nothing was recorded: %w", err)
}

func recordsOf(e cards.ShelfEntry) ([]history.Entry, error) {
	var entries []history.Entry
	if e.Act != nil {
		content, err := ledger.Write(e.Session, e.Act)
		if err != nil {
			return nil, err
		}
		entry := history.Entry{Kind: e.Act.Kind(), Room: e.Room, Person: e.Person, Content: content,
			Happened: e.Happened, Reason: strings.TrimSpace(e.Reason)}
		if c, ok := e.Act.(ledger.Correction); ok {
			entry.Corrects, entry.Reason = c.Of, c.Reason
		}
		entries = append(entries, entry)
	}
	if e.Note != nil {
		content, err := json.Marshal(e.Note)
		if err != nil {
			return nil, phrase.Errorf("the note can't be written down: %w", err)
		}
		entries = append(entries, history.Entry{Kind: e.Note.Kind, Room: e.Room, Person: e.Person, Content: content})
	}
	return entries, nil
}
