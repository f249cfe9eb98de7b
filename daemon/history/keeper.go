package history

import (
	"context"
	"errors"
	"fmt"
	"math"
	"time"

	"wetside/daemon/history/book"
)

// checkpointBytes is the size of the log at which it is moved into the file.
const checkpointBytes = 4 << 20

// wakeKeeper tells the keeper to look; it never waits.
func (s *Store) wakeKeeper() {
	select {
	case s.due <- struct{}{}:
	default:
	}
}

// partingTime is how long a closing store may take to leave everything in order.
const partingTime = time.Second

// keep seals and attests what is due and moves the log into the file, in quiet
// moments, until the store closes. What fails is tried again: nothing is lost by it,
// and the writer, which needs the same disk, tells of it.
func (s *Store) keep() {
	for {
		s.health.keeping(errors.Join(s.keepDue(context.Background()), s.leave()))
		if fileSize(s.path+"-wal") >= checkpointBytes {
			s.checkpoint(context.Background())
		}
		select {
		case <-s.due:
		case <-s.quiet:
			ctx, cancel := context.WithTimeout(context.Background(), partingTime)
			s.health.keeping(s.keepOrder(ctx, true))
			cancel()
			return
		}
	}
}

// never is no quarter of an hour: the keeper has to look.
const never = math.MinInt64

// keepDue keeps order when a quarter of an hour has begun, or something was written since that is due at
// once: to look every second would cost as much as the commit of that second.
func (s *Store) keepDue(ctx context.Context) error {
	if now := currentQuarter(s.clock.Now().Wall); s.looked.Swap(now) == now {
		return nil
	}
	err := s.keepOrder(ctx, false)
	if err != nil {
		s.looked.Store(never)
	}
	return err
}

// keepOrder seals the quarters of an hour and attests the days that are due: those
// that are over, or all of them when the store closes. One does so at a time, as each
// quarter goes into the roll-up of its day that the one before has left.
func (s *Store) keepOrder(ctx context.Context, closing bool) error {
	s.order.Lock()
	defer s.order.Unlock()
	if err := s.sealDue(ctx, closing); err != nil {
		return err
	}
	return s.attestDue(ctx, closing)
}

// Settle seals and attests all that is due now, however long it takes: what closes after a
// large import would leave that to the next start, and be slow to read until then.
func (s *Store) Settle(ctx context.Context) { s.health.keeping(s.keepOrder(ctx, false)) }

func (s *Store) sealDue(ctx context.Context, closing bool) error {
	for {
		if s.parting() && !closing {
			return nil
		}
		more, err := s.sealOne(ctx, closing)
		if err != nil || !more {
			return err
		}
	}
}

// parting says that the store closes: what waits then has [partingTime], and waits on for the next start.
func (s *Store) parting() bool {
	select {
	case <-s.quiet:
		return true
	default:
		return false
	}
}

// checkpoint moves the log into the file without holding up the writer.
func (s *Store) checkpoint(ctx context.Context) {
	ctx, cancel := context.WithTimeout(ctx, time.Minute)
	defer cancel()
	if _, err := s.write.ExecContext(ctx, "PRAGMA wal_checkpoint(PASSIVE)"); err != nil {
		s.doubt(err)
		s.health.keeping(explain(err, ErrWrite, s.path))
	}
}

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
	err = s.view(ctx, func(v view) error {
		c, err = v.newest()
		return err
	})
	return c, err
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
