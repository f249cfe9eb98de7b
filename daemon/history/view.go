package history

import (
	"context"
	"database/sql"
	"errors"
	"fmt"
	"math"
	"time"

	"wetside/daemon/history/book"
	"wetside/daemon/history/pack"
	"wetside/sensors"
)

// querier is a connection or a transaction that can be asked.
type querier interface {
	QueryContext(ctx context.Context, query string, args ...any) (*sql.Rows, error)
	QueryRowContext(ctx context.Context, query string, args ...any) *sql.Row
}

// view is the file as it was at one moment.
type view struct {
	ctx context.Context
	db  querier
}

// view shows fn the file as it is now, whatever is written meanwhile.
func (s *Reader) view(ctx context.Context, fn func(view) error) error {
	tx, err := s.moment(ctx)
	if err != nil {
		return err
	}
	defer tx.Rollback()
	err = fn(view{ctx, tx})
	if resultCode(err) != 0 {
		return explain(err, ErrRead, s.path)
	}
	return err
}

// row asks for one row.
func (v view) row(query string, args ...any) *sql.Row {
	return v.db.QueryRowContext(v.ctx, query, args...)
}

// each hands on every row that a query gives.
func (v view) each(query string, scan func(*sql.Rows) error, args ...any) error {
	rows, err := v.db.QueryContext(v.ctx, query, args...)
	if err != nil {
		return err
	}
	defer rows.Close()
	for rows.Next() {
		if err := scan(rows); err != nil {
			return err
		}
	}
	return rows.Err()
}

// newest is the newest record of the book; the zero checkpoint where it has none.
func (v view) newest() (c book.Checkpoint, err error) {
	err = v.row("SELECT number, hash FROM record ORDER BY number DESC LIMIT 1").Scan(&c.Number, &c.Hash)
	if errors.Is(err, sql.ErrNoRows) {
		return book.Checkpoint{}, nil
	}
	return c, err
}

// span is a half-open time in milliseconds: from is in it, to is not.
type span struct{ from, to int64 }

func spanOf(from, to time.Time) span { return span{from.UnixMilli(), to.UnixMilli()} }

func (s span) within(o span) span { return span{max(s.from, o.from), min(s.to, o.to)} }

// quarters gives the first quarter of an hour that the span touches and the first after it.
func (s span) quarters() (first, end int64) {
	return floorDiv(s.from, quarterMillis), floorDiv(s.to-1, quarterMillis) + 1
}

// channelInfo is what the file knows of a channel.
type channelInfo struct {
	code    int64
	room    string
	unit    string
	silence int64 // milliseconds
}

func (v view) channel(id sensors.ChannelID) (channelInfo, error) {
	var c channelInfo
	err := v.row("SELECT code, room, unit, silence_ms FROM channel WHERE id = ?", string(id)).Scan(&c.code, &c.room, &c.unit, &c.silence)
	if errors.Is(err, sql.ErrNoRows) {
		return c, fmt.Errorf("%w %q: no such channel was ever recorded here", ErrUnknownChannel, id)
	}
	return c, err
}

// reasons are the words that samples refer to.
type reasons [math.MaxUint8 + 1]sensors.Reason

func (v view) words() (*reasons, error) {
	words := &reasons{}
	return words, v.each("SELECT code, text FROM word", func(rows *sql.Rows) error {
		var code uint8
		var text sensors.Reason
		err := rows.Scan(&code, &text)
		words[code] = text
		return err
	})
}

// tailID is where the rows of a quarter of an hour begin in the tail.
func tailID(quarter int64) int64 { return min(max(quarter, -1<<40), 1<<40) << 20 }

// tailQuarter is the quarter of an hour of a row of the tail.
func tailQuarter(id int64) int64 { return id >> 20 }

// eachTail hands on the samples of the tail within quarters first to end-1.
func (v view) eachTail(first, end int64, each func(tailSample)) error {
	return v.each("SELECT samples FROM tail WHERE id >= ? AND id < ? ORDER BY id", func(rows *sql.Rows) error {
		var data sql.RawBytes
		if err := rows.Scan(&data); err != nil {
			return err
		}
		return decodeTail(data, each)
	}, tailID(first), tailID(end))
}

// lastOfTail gives the latest sample of each channel in the tail, imported ones left out.
func (v view) lastOfTail() (map[int64]pack.Sample, error) {
	last := map[int64]pack.Sample{}
	err := v.eachTail(math.MinInt64, math.MaxInt64, func(t tailSample) {
		if have, ok := last[int64(t.channel)]; !imported(t.Sample) && (!ok || t.At >= have.At) {
			last[int64(t.channel)] = t.Sample
		}
	})
	return last, err
}
