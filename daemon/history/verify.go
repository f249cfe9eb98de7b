package history

import (
	"context"
	"database/sql"
	"errors"
	"fmt"
	"os"
	"path/filepath"

	"wetside/daemon/history/book"
)

// Report is what [Verify] found.
type Report struct {
	// Last is the last record that holds: printed or mailed, it proves that nothing up
	// to it was changed.
	Last book.Checkpoint
	// Broken is the first record that does not hold, nil when all do.
	Broken *book.Broken
	// Damage lists what is wrong with the file itself, its samples and roll-ups.
	Damage []string
	// Attested counts the days of channels that are what the book attests, Waiting those
	// that it does not attest yet: today's, and days to which something was added late.
	Attested, Waiting int
	// Trail spares a later [Walk] what this one did; [Verify] leaves none.
	Trail Trail
}

// Err is nil when everything holds.
func (r Report) Err() error {
	var errs []error
	if r.Broken != nil {
		errs = append(errs, r.Broken)
	}
	for _, d := range r.Damage {
		errs = append(errs, fmt.Errorf("%w: %s", ErrCorrupt, d))
	}
	return errors.Join(errs...)
}

// Verify walks the record book in dir from its first record to its last, compares
// the samples of every day with what the book attests and the tables with those that the
// program makes, and looks over every page of the file. It only reads, also while wetside runs. The error is of what could not be
// read at all; what does not hold is in the report.
func Verify(ctx context.Context, dir string) (Report, error) {
	path := filepath.Join(dir, FileName)
	if _, err := os.Stat(path); err != nil {
		return Report{}, fmt.Errorf("there is no history to verify, expected at %s: name the folder in which wetside keeps its data (%w)",
			path, errors.Unwrap(err))
	}
	return VerifyCopy(ctx, path)
}

// VerifyCopy is [Verify] for a file of any name. A backup is compared with its seal too.
func VerifyCopy(ctx context.Context, path string) (Report, error) {
	path, err := filepath.Abs(path)
	if err != nil {
		return Report{}, fmt.Errorf("finding the history: %w", err)
	}
	if _, err := os.Stat(path); err != nil {
		return Report{}, fmt.Errorf("%w: there is no history: %w", ErrRead, err)
	}
	db, err := openReader(path)
	if err != nil {
		return Report{}, explain(err, ErrRead, path)
	}
	defer db.Close()
	steps, err := migrations()
	if err != nil {
		return Report{}, err
	}
	have, err := writtenForm(ctx, db, path, len(steps))
	if err != nil {
		return Report{}, err
	}
	if err := cutShort(ctx, db, path); err != nil {
		return Report{}, err
	}
	if err := sealHolds(path); err != nil {
		return Report{}, err
	}
	var report Report
	err = (&Reader{path: path, read: db}).view(ctx, func(v view) error {
		claims := &claims{days: map[string]map[int64]claim{}, deleted: map[string][]deletion{}, described: map[string]description{}}
		if err := report.walkOn(v, &book.Chain{}, -1, claims.apply); err != nil {
			return err
		}
		if err := report.lookOver(v); err != nil {
			return err
		}
		if err := report.compareLayout(v, have); err != nil {
			return err
		}
		return report.compare(v, claims, have)
	})
	return report, err
}

// cutShort refuses a file that ends before its last page does. While somebody writes it,
// a part of it stands in the log beside it, and its length says nothing.
func cutShort(ctx context.Context, db *sql.DB, path string) error {
	if log, err := os.Stat(path + "-wal"); err == nil && log.Size() > 0 {
		return nil
	}
	var length int64
	if err := db.QueryRowContext(ctx, "SELECT page_count * page_size FROM pragma_page_count, pragma_page_size").Scan(&length); err != nil {
		return explain(err, ErrCorrupt, path)
	}
	info, err := os.Stat(path)
	if err == nil && info.Size() < length {
		err = fmt.Errorf("%w: %s has %d bytes and should have %d: it was cut short; %s", ErrCorrupt, path, info.Size(), length,
			remedy(path))
	}
	return err
}

// walkOn checks record after record from where a chain has come, at most so many, -1 being all of them. It ends at
// the first that does not hold, and hands those that hold to each.
func (r *Report) walkOn(v view, chain *book.Chain, most int, each func(Record) error) error {
	const query = "SELECT number, hash, body, kind, room, at_ms FROM record WHERE number > ? ORDER BY number LIMIT ?"
	err := v.each(query, func(rows *sql.Rows) error {
		var c columns
		if err := rows.Scan(&c.number, &c.hash, &c.body, &c.kind, &c.room, &c.atMS); err != nil {
			return err
		}
		record, err := c.follow(chain)
		if err == nil {
			err = each(record)
		}
		if errors.As(err, &r.Broken) {
			return errEnough
		}
		r.Last = chain.Last()
		return err
	}, chain.Last().Number, most)
	if errors.Is(err, errEnough) {
		return nil
	}
	return err
}

// columns is a record as the table holds it: the text and parts of it for queries.
type columns struct {
	number     uint64
	hash, body string
	kind, room string
	atMS       int64
	about      string // the other columns than hash and body as a walk reads them
}

// follow checks that the record is the next of a chain, and that the columns for queries say what
// its text says. The error is a [*book.Broken].
func (c columns) follow(chain *book.Chain) (Record, error) {
	r, err := chain.Next(c.hash, c.body)
	if err == nil && (c.number != r.Number || c.kind != r.Kind || c.room != r.Room || c.atMS != r.At.UnixMilli()) {
		err = &book.Broken{Number: r.Number, Why: "the table and the text of the record disagree"}
	}
	return r, err
}

// lookOver asks SQLite to look over every page and index.
func (r *Report) lookOver(v view) error {
	return v.each("PRAGMA integrity_check", func(rows *sql.Rows) error {
		var line string
		err := rows.Scan(&line)
		if line != "ok" {
			r.Damage = append(r.Damage, line)
		}
		return err
	})
}
