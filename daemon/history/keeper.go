package history

import (
	"context"
	"time"
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
		s.keepOrder(context.Background(), false)
		if err := s.leave(); err != nil {
			s.health.keeping(err)
		}
		if fileSize(s.path+"-wal") >= checkpointBytes {
			s.checkpoint(context.Background())
		}
		select {
		case <-s.due:
		case <-s.quiet:
			ctx, cancel := context.WithTimeout(context.Background(), partingTime)
			s.keepOrder(ctx, true)
			cancel()
			return
		}
	}
}

// keepOrder seals the quarters of an hour and attests the days that are due: those
// that are over, or all of them when the store closes. One does so at a time, as each
// quarter goes into the roll-up of its day that the one before has left.
func (s *Store) keepOrder(ctx context.Context, closing bool) {
	s.order.Lock()
	defer s.order.Unlock()
	err := s.sealDue(ctx, closing)
	if err == nil {
		err = s.attestDue(ctx, closing)
	}
	s.health.keeping(err)
}

// Settle seals and attests all that is due now, however long it takes: what closes after a
// large import would leave that to the next start, and be slow to read until then.
func (s *Store) Settle(ctx context.Context) { s.keepOrder(ctx, false) }

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
