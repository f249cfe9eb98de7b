package history

import (
	"context"
	"database/sql"
	"errors"
	"fmt"
	"runtime"
	"sync"

	"wetside/daemon/history/book"
)

// Holds says whether a checkpoint that was kept elsewhere is one of this book. The
// error is a [*book.Broken] when it is not; together with [Verify] a nil proves
// that nothing up to it was changed.
func (s *Reader) Holds(ctx context.Context, c book.Checkpoint) error {
	if c.Number == 0 {
		return &book.Broken{Number: c.Number, Why: "records are counted from 1"}
	}
	records, err := s.Records(ctx, Query{AfterNumber: c.Number - 1, Limit: 1})
	switch {
	case err != nil:
		return err
	case len(records) == 0:
		return &book.Broken{Number: c.Number, Why: "the book ends before the checkpoint: records were cut off, or the checkpoint is of another book"}
	case records[0].Hash != c.Hash:
		return &book.Broken{Number: c.Number, Why: fmt.Sprintf("its hash is %s and the checkpoint has %s: something up to it was changed, or the checkpoint is of another book", records[0].Hash, c.Hash)}
	}
	return nil
}

// VerifyBook walks the record book from its first record to its last, and leaves
// the samples and the pages of the file to [Verify]. Stretches of it are walked side by
// side: each begins with the hash that the one before must end with.
func (s *Reader) VerifyBook(ctx context.Context) (Report, error) {
	begins, err := s.stretches(ctx)
	if err != nil {
		return Report{}, err
	}
	found, errs := make([]Report, len(begins)), make([]error, len(begins))
	var walkers sync.WaitGroup
	for i, begin := range begins {
		most := -1
		if i+1 < len(begins) {
			most = int(begins[i+1].Number - begin.Number)
		}
		walkers.Go(func() {
			errs[i] = s.view(ctx, func(v view) error {
				chain := book.After(begin)
				return found[i].walkOn(v, &chain, most, func(Record) error { return nil })
			})
		})
	}
	walkers.Wait()
	var report Report
	for _, f := range found {
		if f.Last.Number > 0 {
			report.Last = f.Last
		}
		if report.Broken = f.Broken; f.Broken != nil {
			break
		}
	}
	return report, errors.Join(errs...)
}

// shortestStretch is how many records are worth a walk of their own.
const shortestStretch = 500

// stretches gives the checkpoints after which the stretches of the book begin, one for each
// processor and connection.
func (s *Reader) stretches(ctx context.Context) ([]book.Checkpoint, error) {
	begins := []book.Checkpoint{{}}
	err := s.view(ctx, func(v view) error {
		var last int
		if err := v.db.QueryRowContext(ctx, "SELECT coalesce(max(number), 0) FROM record").Scan(&last); err != nil {
			return err
		}
		parts := min(runtime.NumCPU(), readers, last/shortestStretch)
		for i := 1; i < parts; i++ {
			at := book.Checkpoint{Number: uint64(last * i / parts)}
			err := v.db.QueryRowContext(ctx, "SELECT hash FROM record WHERE number = ?", at.Number).Scan(&at.Hash)
			if errors.Is(err, sql.ErrNoRows) {
				continue // whoever walks over it tells
			}
			if err != nil {
				return err
			}
			begins = append(begins, at)
		}
		return nil
	})
	return begins, err
}
