package main

import (
	"context"
	"errors"
	"fmt"
	"io"
	"slices"
	"strings"
	"time"

	"wetside/daemon/audit"
	"wetside/daemon/history"
	"wetside/rules/duty"
	"wetside/sensors"
)

type pruneCmd struct {
	Data   string `required:"" placeholder:"DIR" help:"The folder that keeps the history."`
	Delete bool   `help:"Delete what is listed, for good; wetside must not be running on the folder."`
	By     string `placeholder:"NAME" help:"Who deletes, for the record book."`
}

// Run lists what may be deleted, and deletes it when asked to.
func (c *pruneCmd) Run(ctx context.Context, out io.Writer) error {
	if c.Delete && strings.TrimSpace(c.By) == "" {
		return unusable("--by is missing: the record book must say who deleted")
	}
	due, ruled, err := c.due(ctx)
	if err != nil {
		return err
	}
	for _, d := range due {
		if err := writeLine(out, d.sentence()); err != nil {
			return err
		}
	}
	switch {
	case !ruled:
		return writeLine(out, "There is nothing to delete: the settings that wetside recorded last name no time for which anything is kept, "+
			"so everything is.")
	case len(due) == 0:
		return writeLine(out, "There is nothing to delete: everything is to be kept.")
	case !c.Delete:
		return writeLine(out, "Nothing was deleted. With --delete and --by NAME it would be.")
	}
	return c.delete(ctx, out, due)
}

// overdue is a deletion that is allowed, with what it comes to.
type overdue struct {
	history.Deletion
	found history.Deleted
}

func (o overdue) sentence() string {
	return fmt.Sprintf("%s: samples: %d, days: %d, from %s up to, not including, %s. To be kept for %s (%s).",
		o.Channel, o.found.Samples, o.found.Days, o.found.From, o.found.Before, o.KeptFor, o.Why)
}

// due finds what no duty asks to keep any longer, and whether there is any rule about it.
func (c *pruneCmd) due(ctx context.Context) (list []overdue, ruled bool, err error) {
	clock := sensors.NewSystemClock(1)
	reader, err := history.OpenReader(ctx, history.Options{Dir: c.Data, Clock: clock})
	if err != nil {
		return nil, false, err
	}
	defer func() { err = errors.Join(err, reader.Close()) }()
	if err := believable(ctx, reader, clock.Now().Wall); err != nil {
		return nil, false, err
	}
	known, err := audit.Versions(ctx, reader)
	if err != nil || len(known) == 0 {
		return nil, false, err
	}
	channels, err := reader.Channels(ctx)
	if err != nil {
		return nil, false, err
	}
	rules := known[len(known)-1].Keeping
	for _, k := range rules {
		more, err := c.dueBy(ctx, keeping{k, reader, channels, clock.Now().Wall})
		if err != nil {
			return nil, false, err
		}
		list = append(list, more...)
	}
	return list, len(rules) > 0, nil
}

// longestQuiet is how long after the last record a clock is believed by which things
// are deleted.
const longestQuiet = 366 * 24 * time.Hour

// believable refuses a clock that runs far ahead of everything that was recorded.
func believable(ctx context.Context, reader *history.Reader, now time.Time) error {
	var last time.Time
	for r, err := range reader.EachRecord(ctx, history.Query{}) {
		if err != nil {
			return err
		}
		if r.At.After(last) {
			last = r.At
		}
	}
	if now.Sub(last) > longestQuiet {
		return fmt.Errorf("the clock says %s and the last record is of %s: start wetside once and confirm the time, so that nothing is "+
			"deleted by a wrong clock",
			now.UTC().Format(time.DateOnly), last.Format(time.DateOnly))
	}
	return nil
}

// keeping is a rule, and what it is held against.
type keeping struct {
	duty.Keeping
	reader   *history.Reader
	channels []history.ChannelInfo
	now      time.Time
}

func (c *pruneCmd) dueBy(ctx context.Context, k keeping) ([]overdue, error) {
	before := k.KeptUntil(k.now)
	var list []overdue
	for _, channel := range k.channels {
		if !slices.Contains(k.Quantities, string(channel.Kind)) {
			continue
		}
		d := history.Deletion{Entry: history.Entry{Person: c.By, Room: channel.Room}, Channel: channel.ID, Before: before,
			KeptFor: k.For.String(), Why: k.Why}
		found, err := k.reader.Deletable(ctx, d)
		if errors.Is(err, history.ErrNothing) {
			continue
		}
		if err != nil {
			return nil, err
		}
		list = append(list, overdue{d, found})
	}
	return list, nil
}

func (c *pruneCmd) delete(ctx context.Context, out io.Writer, due []overdue) (err error) {
	zone, err := audit.Zone(ctx, c.Data)
	if err != nil {
		return err
	}
	store, err := history.Open(ctx, history.Options{Dir: c.Data, Clock: sensors.NewSystemClock(1), Zone: zone, Version: version()})
	if err != nil {
		return err
	}
	defer func() {
		if err = errors.Join(err, store.Close()); err == nil {
			err = history.Shrink(ctx, c.Data)
		}
	}()
	if err := audit.ForgetCounted(c.Data); err != nil {
		return fmt.Errorf("nothing was deleted, because the saved totals of these readings could not be removed: %w", err)
	}
	for _, d := range due {
		record, err := store.Delete(ctx, d.Deletion)
		if err != nil {
			return fmt.Errorf("%s was not deleted, nor what comes after it in the list: %w", d.Channel, err)
		}
		if err := writeLine(out, fmt.Sprintf("Record %d: %s was deleted up to %s.", record.Number, d.Channel, d.found.Before)); err != nil {
			return err
		}
	}
	return nil
}
