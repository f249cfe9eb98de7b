package history

import (
	"context"
	"database/sql"
	"errors"
	"fmt"
	"os"
	"path/filepath"
	"sync"
	"sync/atomic"

	"wetside/daemon/history/book"
	"wetside/daemon/history/disk"
	"wetside/rules/record"
)

// Store is an open history. Its methods may be called from any goroutine.
type Store struct {
	Reader
	kinds record.Registry
	lock  *os.File
	write *sql.DB

	jobs    chan *job
	closing chan struct{} // closed to end the writer
	gone    chan struct{} // closed by the writer when it has ended
	due     chan struct{} // tells the keeper that a quarter of an hour may be over
	quiet   chan struct{} // closed to end the keeper
	running sync.WaitGroup
	keeping sync.WaitGroup
	order   sync.Mutex   // held while quarters are sealed and days attested
	looked  atomic.Int64 // the quarter of an hour in which the keeper looked last; see keepDue
	writer  *writer
	health  *pulse
	unsure  atomic.Bool // see doubt
	// clockSays is written by the writer and read by anyone.
	clockSays atomic.Pointer[clockState]
	close     func() error

	ownFiles ownFiles
	last     atomic.Pointer[book.Checkpoint] // the newest record on disk
	before   *mark                           // what the last run left; nil where there was none
	copied   bool                            // the file was put in place of the history, as a copy
	left     mark                            // what this run left last; see leave
}

// Open opens the history in o.Dir and makes it when there is none. It takes the
// folder for itself until Close, records the start, and stores what was missed
// since the last sign of life as gaps. The errors are ErrLocked, ErrNewer,
// ErrCorrupt, ErrLess, ErrReadOnly and ErrWrite, each wrapped with the path and what to do.
func Open(ctx context.Context, o Options) (*Store, error) {
	lock, err := lockFolder(o.Dir)
	if err != nil {
		return nil, err
	}
	s := &Store{
		Reader: Reader{path: filepath.Join(o.Dir, FileName), clock: o.Clock, zone: o.Zone}, lock: lock, kinds: o.Kinds,
		jobs: make(chan *job, 64), closing: make(chan struct{}), gone: make(chan struct{}),
		due: make(chan struct{}, 1), quiet: make(chan struct{}),
		health: &pulse{health: Health{Writable: true, Commits: newTiming(), Durable: newTiming()}},
	}
	s.looked.Store(never)
	s.close = sync.OnceValue(s.shut)
	if err := s.open(ctx, o); err != nil {
		return nil, errors.Join(err, s.release())
	}
	s.running.Go(s.writer.run)
	if err := s.do(ctx, true, s.writer.start); err != nil {
		close(s.closing)
		s.running.Wait()
		return nil, errors.Join(err, s.release())
	}
	if s.copied {
		s.checkpoint(ctx) // takes the sign of a copy off the file itself
	}
	if err := errors.Join(s.ownFiles.note(s.path), s.leave()); err != nil {
		s.health.keeping(err)
	}
	s.keeping.Go(s.keep)
	s.keeping.Go(s.inspect)
	return s, nil
}

// open opens and checks the file and prepares the goroutine that writes.
func (s *Store) open(ctx context.Context, o Options) (err error) {
	if s.path, err = filepath.Abs(s.path); err != nil {
		return fmt.Errorf("finding the data folder: %w", err)
	}
	if err := s.expect(o.Dir); err != nil {
		return err
	}
	if s.write, err = openWriter(s.path); err != nil {
		return explain(err, ErrWrite, s.path)
	}
	if s.read, err = openReader(s.path); err != nil {
		return explain(err, ErrWrite, s.path)
	}
	if err := checkFile(ctx, s.write, s.path); err != nil {
		return err
	}
	steps, err := migrations()
	if err != nil {
		return err
	}
	if err := migrate(ctx, s.write, s.path, steps); err != nil {
		return err
	}
	if err := s.compareMark(ctx); err != nil {
		return err
	}
	if s.writer, err = newWriter(ctx, s, o); err != nil {
		return explain(err, ErrWrite, s.path)
	}
	if s.copied { // a start that is cut off must not hold the copy against what was there before
		s.last.Store(&s.writer.state.last)
		return s.leave()
	}
	return nil
}

// lockFolder makes the folder when absent and takes it for this process.
func lockFolder(dir string) (*os.File, error) {
	if err := os.MkdirAll(dir, 0o750); err != nil {
		return nil, explain(err, ErrWrite, dir)
	}
	f, err := os.OpenFile(filepath.Join(dir, "lock"), os.O_CREATE|os.O_RDWR, 0o640)
	if err != nil {
		return nil, explain(err, ErrWrite, dir)
	}
	taken, err := disk.Lock(f)
	if err == nil && !taken {
		err = fmt.Errorf("%w: %s: stop the other one, or give this one a data folder of its own", ErrLocked, dir)
	}
	if err != nil {
		return nil, errors.Join(err, f.Close())
	}
	return f, nil
}

// Free is ErrLocked if another process has taken the data folder; it makes the folder when absent.
func Free(dir string) error {
	f, err := lockFolder(dir)
	if err != nil {
		return err
	}
	return f.Close()
}

// Close records the stop, seals what is due, moves the log into the file and
// gives the folder free. Calls after Close fail with ErrClosed.
func (s *Store) Close() error { return s.close() }

func (s *Store) shut() error {
	close(s.quiet)
	s.keeping.Wait()
	_, err := s.Record(context.Background(), Entry{Kind: KindStopped})
	close(s.closing)
	s.running.Wait()
	return errors.Join(err, s.release())
}

// release closes what is open; the last connection to close moves the log into the file.
func (s *Store) release() error {
	var errs []error
	if s.read != nil {
		errs = append(errs, s.read.Close())
	}
	if s.writer != nil {
		errs = append(errs, s.writer.close())
	}
	if s.write != nil {
		errs = append(errs, s.write.Close())
	}
	s.ownFiles.closed(s.path)
	return errors.Join(append(errs, s.leave(), s.lock.Close())...)
}

// start is the first job of a history: it opens a new book, records the start,
// and closes the time in which the machine was off.
func (w *writer) start() error {
	if w.state.last.Number == 0 {
		if _, err := w.record(Entry{Kind: KindBookOpened, Content: encode(opened{Book: randomID()})}); err != nil {
			return err
		}
	}
	if err := w.resume(); err != nil {
		return err
	}
	_, err := w.record(Entry{Kind: KindStarted, Content: encode(started{Version: w.options.Version})})
	return err
}
