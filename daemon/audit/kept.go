package audit

import (
	"bytes"
	"context"
	"encoding/json"
	"errors"
	"time"

	"wetside/daemon/history"
	"wetside/rules/past"
	"wetside/sensors/quantity/phrase"
)

// Versions gives all settings that the book holds, oldest first. Text that no longer
// makes sense stays in the book and is passed over.
func Versions(ctx context.Context, book *history.Reader) ([]past.Version, error) {
	records, err := book.Records(ctx, history.Query{Kinds: []string{past.Kind}})
	if err != nil {
		return nil, phrase.Errorf("the settings recorded before can't be read: %w", err)
	}
	var list []past.Version
	for _, r := range records {
		v := past.Version{At: r.At, Record: r.Number, Text: r.Content}
		if json.Unmarshal(r.Content, &v.Site) == nil {
			list = append(list, v)
		}
	}
	return list, nil
}

// Keep records settings unless the book has the same as its last.
func Keep(ctx context.Context, store *history.Store, s past.Site) error {
	content, err := json.Marshal(s)
	if err != nil {
		return phrase.Errorf("the settings can't be written down: %w", err)
	}
	known, err := Versions(ctx, &store.Reader)
	if err != nil {
		return err
	}
	if n := len(known); n > 0 && bytes.Equal(known[n-1].Text, content) {
		return nil
	}
	_, err = store.Record(ctx, history.Entry{Kind: past.Kind, Content: content})
	return err
}

// Zone gives the time zone of the place whose history is in a folder: the one
// recorded last with its settings, or the computer's own when none was.
func Zone(ctx context.Context, dir string) (*time.Location, error) {
	reader, err := history.OpenReader(ctx, history.Options{Dir: dir})
	if err != nil {
		return nil, err
	}
	known, err := Versions(ctx, reader)
	if err := errors.Join(err, reader.Close()); err != nil {
		return nil, err
	}
	for i := len(known) - 1; i >= 0; i-- {
		if zone, err := time.LoadLocation(known[i].Site.Zone); err == nil {
			return zone, nil
		}
	}
	return time.Local, nil
}
