package main

import (
	"context"
	"errors"
	"fmt"
	"sort"
	"time"

	"go.uber.org/zap"

	"wetside/daemon/centre/wire"
	"wetside/daemon/config"
	"wetside/daemon/history"
	"wetside/daemon/history/book"
	"wetside/daemon/uplink"
	"wetside/sensors"
)

// atCentre names a centre and the key of a site there.
type atCentre struct {
	Centre      string `placeholder:"URL" help:"The address of the centre that keeps the book of this site too."`
	CentreKey   string `name:"centre-key" placeholder:"FILE" help:"The file with the site's key at the centre."`
	Fingerprint string `name:"centre-fingerprint" placeholder:"SHA256" help:"The fingerprint of a certificate that the centre made itself."`
}

// configured is the centre as a configuration has it; nothing where none is named.
func (a atCentre) configured() (config.Centre, error) {
	if a.Centre == "" {
		return config.Centre{}, nil
	}
	key, err := config.ReadKey(a.CentreKey)
	if err != nil {
		return config.Centre{}, usageError{fmt.Errorf("--centre-key: %w", err)}
	}
	return config.Centre{URL: a.Centre, Key: key, Fingerprint: a.Fingerprint}, nil
}

// ask compares the book with the newest record that the centre took. Where they differ, it
// finds the first record that does.
func (a atCentre) ask(ctx context.Context, data string) (lines []string, err error) {
	c, err := a.configured()
	if err != nil || c.URL == "" {
		return nil, err
	}
	sender, err := uplink.New(uplink.Options{URL: c.URL, Key: c.Key, Fingerprint: c.Fingerprint, Clock: sensors.NewSystemClock(1),
		Log: zap.NewNop()})
	if err != nil {
		return nil, usageError{err}
	}
	reader, err := history.OpenReader(ctx, history.Options{Dir: data})
	if err != nil {
		return nil, err
	}
	defer func() { err = errors.Join(err, reader.Close()) }()
	newest, found, err := sender.Witness(ctx, 0)
	if err != nil {
		return nil, fmt.Errorf("asking the centre: %w", err)
	}
	if !found {
		return []string{"The centre has no record of this site yet, so it proves nothing."}, nil
	}
	err = reader.Holds(ctx, book.Checkpoint(newest.Place))
	if broken, is := errors.AsType[*book.Broken](err); is {
		return nil, comparing{ctx, reader, sender}.first(newest, broken)
	}
	return []string{fmt.Sprintf("The centre took record %d on %s, and the book has that record: nothing up to it was changed since. It "+
		"says nothing of later records.",
		newest.Number, taken(newest))}, err
}

func taken(w wire.Witness) string {
	return time.UnixMilli(w.TakenMS).UTC().Format("2 January 2006 15:04 UTC")
}

// comparing is a book beside the centre's.
type comparing struct {
	ctx    context.Context
	reader *history.Reader
	sender *uplink.Sender
}

// first says which is the first record that is not the one that the centre took: each hash
// rests on all records before it, so the search can halve what is left.
func (c comparing) first(newest wire.Witness, broken *book.Broken) error {
	var failed error
	var other wire.Witness
	number := uint64(sort.Search(int(newest.Number-1), func(i int) bool {
		w, _, err := c.sender.Witness(c.ctx, uint64(i)+1)
		failed = errors.Join(failed, err)
		differs := c.reader.Holds(c.ctx, book.Checkpoint(w.Place)) != nil
		if differs {
			other = w
		}
		return differs
	})) + 1
	switch {
	case failed != nil:
		return errors.Join(broken, failed)
	case number == newest.Number:
		return fmt.Errorf("the centre took record %d on %s, and the book does not have that record: %w", number, taken(newest), broken)
	}
	return fmt.Errorf("record %d is the first that is not the one that the centre took, on %s; the centre has records up to %d: %w",
		number, taken(other), newest.Number, broken)
}
