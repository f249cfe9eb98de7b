package history

import (
	"context"
	"database/sql"
	"errors"
	"fmt"
	"path/filepath"
	"time"

	"wetside/sensors"
)

// ErrNothing says that there is nothing to delete.
var ErrNothing = errors.New("there are no samples in that time")

// Deletion says which samples are to be deleted, and by what right.
type Deletion struct {
	// Entry is the record that says so; its kind and content are set here.
	Entry
	Channel sensors.ChannelID
	// Before is the first UTC day that stays.
	Before time.Time
	// KeptFor and Why repeat the rule by which the samples were kept so long.
	KeptFor, Why string
}

// Deleted is the content of the record of a deletion: every day of the channel
// before Before is gone.
type Deleted struct {
	Channel sensors.ChannelID `json:"channel"`
	// From is the first day of which anything was kept.
	From    string `json:"from"`
	Before  string `json:"before"`
	Days    int    `json:"days"`
	Samples int64  `json:"samples"`
	KeptFor string `json:"kept_for"`
	Why     string `json:"why"`
}

// Deletable says what a deletion would delete; ErrNothing when that is nothing.
func (s *Reader) Deletable(ctx context.Context, d Deletion) (found Deleted, err error) {
	err = s.view(ctx, func(v view) error {
		c, err := v.channel(d.Channel)
		if err != nil {
			return err
		}
		found, err = v.deletable(c.code, d)
		return err
	})
	return found, err
}

func (v view) deletable(code int64, d Deletion) (Deleted, error) {
	before := floorDiv(d.Before.UnixMilli(), dayMillis)
	out := Deleted{Channel: d.Channel, Before: dayText(before), KeptFor: d.KeptFor, Why: d.Why}
	keys := keysOf(code, -keyBias, before)
	var first sql.NullInt64
	err := v.row("SELECT min(key), count(*) FROM day WHERE key >= ? AND key < ?", keys.low, keys.high).Scan(&first,
		&out.Days)
	if err != nil {
		return out, err
	}
	if out.Days == 0 {
		return out, fmt.Errorf("%w: %q before %s", ErrNothing, d.Channel, out.Before)
	}
	out.From = dayText(blockNumber(first.Int64))
	err = v.eachStored("SELECT key, quarters FROM day WHERE key >= ? AND key < ?", keys, func(_ int64, data []byte) error {
		quarters, err := decodeDay(data)
		for _, q := range quarters {
			out.Samples += int64(q.good) + int64(q.bad)
		}
		return err
	})
	return out, err
}

// Delete deletes samples for good, with their roll-ups and gaps, and records it; both
// or neither. The record book itself only grows. It is meant for a history that nobody
// else is writing to.
func (s *Store) Delete(ctx context.Context, d Deletion) (r Record, err error) {
	d.Kind = KindDeleted
	if err := d.check(); err != nil {
		return Record{}, err
	}
	err = s.do(ctx, true, func() error {
		r, err = s.writer.delete(d)
		return err
	})
	return r, err
}

func (w *writer) delete(d Deletion) (Record, error) {
	code, known := w.state.channels[d.Channel]
	if !known {
		return Record{}, refusal{fmt.Errorf("%w %q: no such channel was ever recorded here", ErrUnknownChannel, d.Channel)}
	}
	found, err := w.deletable(code, d)
	if errors.Is(err, ErrNothing) {
		return Record{}, refusal{err}
	}
	if err != nil {
		return Record{}, err
	}
	d.Content = encode(found)
	r, err := w.record(d.Entry)
	if err != nil {
		return r, err
	}
	day := floorDiv(d.Before.UnixMilli(), dayMillis)
	blocks, days := keysOf(code, -keyBias, day*quartersPerDay), keysOf(code, -keyBias, day)
	return r, errors.Join(
		w.exec("DELETE FROM part WHERE key >= ? AND key < ?", blocks.low, blocks.high),
		w.dropTimes(-keyBias, day*quartersPerDay),
		w.exec("DELETE FROM day WHERE key >= ? AND key < ?", days.low, days.high),
		w.exec("DELETE FROM unattested WHERE key >= ? AND key < ?", days.low, days.high),
		w.exec("DELETE FROM gap WHERE channel = ? AND to_ms < ?", code, day*dayMillis),
	)
}

// mostFree is which part of the pages of a file may be free, in percent.
const mostFree = 10

// Shrink gives the pages of a closed history that hold nothing any more back to the disk, where
// they are a good part of it: after an import, whose samples waited to be packed, and a deletion. It
// needs as much space again as the history takes; where that is not there, the history stays as it is.
func Shrink(ctx context.Context, dir string) (err error) {
	lock, err := lockFolder(dir)
	if err != nil {
		return err
	}
	path := filepath.Join(dir, FileName)
	db, err := sql.Open("sqlite", dataSource(path, "synchronous(FULL)"))
	if err != nil {
		return errors.Join(explain(err, ErrWrite, path), lock.Close())
	}
	defer func() {
		if err = errors.Join(err, db.Close()); err != nil {
			err = fmt.Errorf("the history is whole, but its file was not made smaller: %w", explainCopy(err, path))
		}
		err = errors.Join(err, lock.Close())
	}()
	var pages, free int64
	row := db.QueryRowContext(ctx, "SELECT page_count, freelist_count FROM pragma_page_count, pragma_freelist_count")
	if err := row.Scan(&pages, &free); err != nil || free*100 <= pages*mostFree {
		return err
	}
	_, err = db.ExecContext(ctx, "VACUUM")
	return err
}
