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

// keep seals what is due and moves the log into the file, in quiet moments, until
// the store closes. What fails is tried again: nothing is lost by it, and the
// writer, which needs the same disk, tells of it.
func (s *Store) keep() {
	ctx, cancel := context.WithCancel(context.Background())
	defer cancel()
	for {
		s.sealDue(ctx)
		if fileSize(s.path+"-wal") >= checkpointBytes {
			s.checkpoint(ctx)
		}
		select {
		case <-s.due:
		case <-s.quiet:
			s.sealDue(ctx)
			return
		}
	}
}

func (s *Store) sealDue(ctx context.Context) {
	for more := true; more; {
		var err error
		if more, err = s.sealOne(ctx); err != nil {
			s.health.keeping(err)
			return
		}
	}
	s.health.keeping(nil)
}

// checkpoint moves the log into the file without holding up the writer.
func (s *Store) checkpoint(ctx context.Context) {
	ctx, cancel := context.WithTimeout(ctx, time.Minute)
	defer cancel()
	if _, err := s.write.ExecContext(ctx, "PRAGMA wal_checkpoint(PASSIVE)"); err != nil {
		s.health.keeping(explain(err, ErrWrite, s.path))
	}
}
