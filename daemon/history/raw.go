package history

import (
	"context"
	"database/sql"
	"errors"
	"fmt"

	"wetside/daemon/history/book"
)

// The rows of a history as they are in its file, for a place that keeps a copy of them.
type (
	// RawRecord is a record word for word.
	RawRecord struct {
		Hash string `json:"hash"`
		Body string `json:"body"`
	}
	// RawChannel is a row of the table of channels.
	RawChannel struct {
		Code      int64  `json:"code"`
		ID        string `json:"id"`
		Room      string `json:"room"`
		Name      string `json:"name"`
		Kind      string `json:"kind"`
		Unit      string `json:"unit"`
		SilenceMS int64  `json:"silence_ms"`
		InService int64  `json:"in_service"`
	}
	// RawWord is a word that samples refer to.
	RawWord struct {
		Code int64  `json:"code"`
		Text string `json:"text"`
	}
	// RawBlock holds the packed samples of a channel and a quarter of an hour.
	RawBlock struct {
		Key     int64  `json:"key"`
		Samples []byte `json:"samples"`
	}
	// RawGap is a gap; it is open without ToMS.
	RawGap struct {
		ID      int64  `json:"id"`
		Channel int64  `json:"channel"`
		FromMS  int64  `json:"from_ms"`
		ToMS    *int64 `json:"to_ms,omitempty"`
		Cause   string `json:"cause"`
	}
	// RawDay is all that is kept of a UTC day of a channel: its sealed blocks, its roll-up,
	// and the gaps that ended in it.
	RawDay struct {
		Key      int64      `json:"key"`
		Blocks   []RawBlock `json:"blocks,omitempty"`
		Quarters []byte     `json:"quarters,omitempty"`
		Gaps     []RawGap   `json:"gaps,omitempty"`
	}
	// RawWaiting is a day that the book does not attest yet; Changes grows with what is added.
	RawWaiting struct {
		Key     int64 `json:"key"`
		Changes int64 `json:"changes"`
	}
)

// Raw is one moment of a history, row by row.
type Raw struct{ view }

// Raw shows fn the file as it is now, whatever is written meanwhile.
func (s *Reader) Raw(ctx context.Context, fn func(Raw) error) error {
	return s.view(ctx, func(v view) error { return fn(Raw{v}) })
}

// Last is the newest record; the zero checkpoint in an empty book.
func (r Raw) Last() (book.Checkpoint, error) { return r.newest() }

// Alive is the last sign of life, in milliseconds.
func (r Raw) Alive() (ms int64, err error) {
	err = r.row("SELECT at_ms FROM alive").Scan(&ms)
	return ms, err
}

// Records gives the records after a number, in order, as many as come to so many bytes and
// at least one; all says that none was left.
func (r Raw) Records(after uint64, bytes int) (list []RawRecord, all bool, err error) {
	err = r.each("SELECT hash, body FROM record WHERE number > ? ORDER BY number", func(rows *sql.Rows) error {
		var x RawRecord
		if err := rows.Scan(&x.Hash, &x.Body); err != nil {
			return err
		}
		if bytes <= 0 {
			return errEnough
		}
		list = append(list, x)
		bytes -= len(x.Body) + len(x.Hash)
		return nil
	}, after)
	if errors.Is(err, errEnough) {
		return list, false, nil
	}
	return list, true, err
}

// Channels gives the table of channels.
func (r Raw) Channels() ([]RawChannel, error) {
	const query = "SELECT code, id, room, name, kind, unit, silence_ms, in_service FROM channel ORDER BY code"
	return readRows(r, query, func(x *RawChannel) []any {
		return []any{&x.Code, &x.ID, &x.Room, &x.Name, &x.Kind, &x.Unit, &x.SilenceMS, &x.InService}
	})
}

// Words gives the words that samples refer to.
func (r Raw) Words() ([]RawWord, error) {
	return readRows(r, "SELECT code, text FROM word ORDER BY code", func(x *RawWord) []any {
		return []any{&x.Code, &x.Text}
	})
}

// Waiting gives the days that the book does not attest yet.
func (r Raw) Waiting() ([]RawWaiting, error) {
	return readRows(r, "SELECT key, changes FROM unattested ORDER BY key", func(x *RawWaiting) []any {
		return []any{&x.Key, &x.Changes}
	})
}

// OpenGaps gives the gaps that have not ended.
func (r Raw) OpenGaps() ([]RawGap, error) { return r.gaps("to_ms IS NULL") }

func (r Raw) gaps(where string, args ...any) ([]RawGap, error) {
	return readRows(r, "SELECT id, channel, from_ms, to_ms, cause FROM gap WHERE "+where+" ORDER BY id", func(x *RawGap) []any {
		return []any{&x.ID, &x.Channel, &x.FromMS, &x.ToMS, &x.Cause}
	}, args...)
}

// Day gives what is kept of a day of a channel, by its key; nothing where nothing is.
func (r Raw) Day(key int64) (d RawDay, err error) {
	d.Key = key
	code, day := key>>32, blockNumber(key)
	blocks := keysOf(code, day*quartersPerDay, (day+1)*quartersPerDay)
	d.Blocks, err = readRows(r, "SELECT key, samples FROM block WHERE key >= ? AND key < ? ORDER BY key", func(x *RawBlock) []any {
		return []any{&x.Key, &x.Samples}
	}, blocks.low, blocks.high)
	if err != nil {
		return d, err
	}
	err = r.row("SELECT quarters FROM day WHERE key = ?", key).Scan(&d.Quarters)
	if err != nil && !errors.Is(err, sql.ErrNoRows) {
		return d, err
	}
	d.Gaps, err = r.gaps("channel = ? AND to_ms >= ? AND to_ms < ?", code, day*dayMillis, (day+1)*dayMillis)
	return d, err
}

func (r Raw) each(query string, scan func(*sql.Rows) error, args ...any) error {
	if err := r.view.each(query, scan, args...); err != nil {
		return fmt.Errorf("reading the rows of the history: %w", err)
	}
	return nil
}

// readRows reads rows, each into the fields of an entry.
func readRows[T any](r Raw, query string, fields func(*T) []any, args ...any) (all []T, err error) {
	err = r.each(query, func(rows *sql.Rows) error {
		var x T
		err := rows.Scan(fields(&x)...)
		all = append(all, x)
		return err
	}, args...)
	return all, err
}
