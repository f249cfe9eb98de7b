package history

import (
	"context"
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
		return &book.Broken{Number: c.Number, Why: "the book ends before the checkpoint: records were cut off, or the checkpoint is of another book"}
	case records[0].Hash != c.Hash:
		return &book.Broken{Number: c.Number, Why: fmt.Sprintf("its hash is %s and the checkpoint has %s: something up to it was changed, or the checkpoint is of another book", records[0].Hash, c.Hash)}
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
