package history

import (
	"context"
	"database/sql"
	"errors"
	"fmt"

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
		return &book.Broken{Number: c.Number, Why: "the book ends before the checkpoint: records were cut off, or the checkpoint is of " +
			"another book"}
	case records[0].Hash != c.Hash:
		return &book.Broken{Number: c.Number, Why: fmt.Sprintf("its hash is %s and the checkpoint has %s: something up to it was changed, "+
			"or the checkpoint is of another book", records[0].Hash, c.Hash)}
	}
	return nil
}

// VerifyBook walks the record book from its first record to its last, and leaves
// the samples and the pages of the file to [Verify].
func (s *Reader) VerifyBook(ctx context.Context) (Report, error) {
	return Walk(ctx, s, Steps[struct{}]{
		Read: func(Walked) (none struct{}) { return none },
		Take: func([]struct{}) error { return nil },
	})
}

// Newest is the newest record of the book; the zero checkpoint where it has none.
func (s *Reader) Newest(ctx context.Context) (c book.Checkpoint, err error) {
	err = s.read.QueryRowContext(ctx, "SELECT number, hash FROM record ORDER BY number DESC LIMIT 1").Scan(&c.Number, &c.Hash)
	if errors.Is(err, sql.ErrNoRows) {
		return book.Checkpoint{}, nil
	}
	return c, explain(err, ErrRead, s.path)
}

// CopyWithin says up to which record the book of a copy, a file of any name, is the
// beginning of this book. The error is a [*book.Broken] when it is not. The copy itself is
// not walked: see [Verify] for that.
func (s *Reader) CopyWithin(ctx context.Context, file string) (book.Checkpoint, error) {
	copied, err := openAny(file, Options{})
	if err != nil {
		return book.Checkpoint{}, err
	}
	last, err := copied.Newest(ctx)
	if err := errors.Join(err, copied.Close()); err != nil || last.Number == 0 {
		return last, err
	}
	return last, s.Holds(ctx, last)
}
