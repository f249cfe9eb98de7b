package history

import (
	"context"
	"database/sql"
	"errors"
	"fmt"
	"time"

	"wetside/sensors"
)

// job is something to write. Jobs that wait together are committed together.
type job struct {
	write   func() error
	durable bool
	// samples are what the job stores, so that their loss becomes a gap.
	samples []Sample
	// refused is set when the job could not be written for what it asks, which is no
	// fault of the disk and leaves the others of the same commit alone.
	refused error
	done    chan error
}

// refusal wraps an error that a job returns before it has written anything.
type refusal struct{ error }

func (r refusal) Unwrap() error { return r.error }

const (
	// barrier is how much a power loss may cost. It is a matter of real time, so the
	// computer's own ticker is used and not the injected clock.
	barrier = time.Second
	// aliveEvery is how often a sign of life is stored when nothing else happens.
	aliveEvery = time.Minute
	// maxGroup bounds how many jobs share a commit.
	maxGroup = 256
)

// writer owns the connection that writes. Everything in it belongs to the
// goroutine of run once that has started.
type writer struct {
	store   *Store
	options Options
	conn    *sql.Conn
	view    // of the connection: what is not committed yet is in it
	stmts   map[string]*sql.Stmt
	full    bool // PRAGMA synchronous is FULL rather than NORMAL
	boot    string
	// firstNumber is the last record of the start before this one.
	firstNumber uint64

	state state
	// stale says that state must be read from the file again, after a failed commit.
	stale bool
	// refusedSince holds, by channel, the first sample that was not written.
	refusedSince map[sensors.ChannelID]time.Time

	barrier     time.Duration
	lastDurable time.Time
	lastAlive   time.Time
	dirty       bool
	late        bool // something is written that the keeper may have to seal or attest at once
}

func newWriter(ctx context.Context, s *Store, o Options) (*writer, error) {
	conn, err := s.write.Conn(ctx)
	if err != nil {
		return nil, err
	}
	w := &writer{
		store: s, options: o, conn: conn, view: view{context.Background(), conn}, stmts: map[string]*sql.Stmt{}, boot: randomID(),
		refusedSince: map[sensors.ChannelID]time.Time{}, full: true, barrier: barrier, lastDurable: time.Now(),
	}
	if err := w.load(); err != nil {
		return w, err
	}
	w.firstNumber = w.state.last.Number
	return w, nil
}

// run commits jobs until the store closes and the queue is empty.
func (w *writer) run() {
	defer close(w.store.gone)
	ticker := time.NewTicker(barrier)
	defer ticker.Stop()
	for {
		select {
		case j := <-w.store.jobs:
			w.commit(w.gather(j))
		case <-ticker.C:
			w.tick()
		case <-w.store.closing:
			for len(w.store.jobs) > 0 {
				w.commit(w.gather(<-w.store.jobs))
			}
			return
		}
	}
}

// gather takes the jobs that already wait behind the first.
func (w *writer) gather(first *job) []*job {
	group := []*job{first}
	for len(group) < maxGroup && len(w.store.jobs) > 0 { // nobody else takes them
		group = append(group, <-w.store.jobs)
	}
	return group
}

// tick makes the last second durable, stores a sign of life, and finds out
// whether a disk that failed works again.
func (w *writer) tick() {
	if w.dirty || w.stale || w.store.own() != nil || time.Since(w.lastAlive) >= aliveEvery {
		w.commit([]*job{{write: w.signOfLife, durable: true, done: make(chan error, 1)}})
	}
	w.store.wakeKeeper()
}

func (w *writer) signOfLife() error {
	w.lastAlive = time.Now()
	return w.exec("UPDATE alive SET at_ms = ?", w.store.clock.Now().Wall.UnixMilli())
}

// commit writes a group in one transaction and answers each job.
func (w *writer) commit(group []*job) {
	durable := time.Since(w.lastDurable) >= w.barrier
	for _, j := range group {
		durable = durable || j.durable
	}
	began := time.Now()
	err := w.transact(durable, group)
	if err != nil {
		w.stale = true
		w.store.doubt(err)
		err = explain(err, ErrWrite, w.store.path)
		w.noteRefused(group)
	} else {
		w.noteWritten(group, durable)
	}
	w.store.health.committed(commitNote{durable, began, err})
	for _, j := range group {
		if j.refused != nil {
			j.done <- j.refused
		} else {
			j.done <- err
		}
	}
}

// transact runs the jobs between BEGIN and COMMIT; any error undoes all of them.
func (w *writer) transact(durable bool, group []*job) error {
	if err := w.store.own(); err != nil {
		return err
	}
	if w.stale {
		if err := w.load(); err != nil {
			return err
		}
		w.stale = false
	}
	if w.store.unsure.Load() {
		if err := w.renewLog(); err != nil {
			return err
		}
		w.store.unsure.Store(false)
	}
	if err := w.synchronous(durable); err != nil {
		return err
	}
	if err := w.exec("BEGIN IMMEDIATE"); err != nil {
		return err
	}
	for _, j := range group {
		if err := w.runJob(j); err != nil {
			return errors.Join(err, w.rollback())
		}
	}
	if err := w.storeRefusals(group); err != nil {
		return errors.Join(err, w.rollback())
	}
	if err := w.exec("COMMIT"); err != nil {
		return errors.Join(err, w.rollback())
	}
	return w.store.own() // nothing that went to a removed file is acknowledged
}

func (w *writer) noteWritten(group []*job, durable bool) {
	w.dirty = !durable
	if durable {
		w.lastDurable = time.Now()
		last := w.state.last
		w.store.last.Store(&last)
	}
	w.forgetRefusals(group)
	if w.late {
		w.late = false
		w.store.looked.Store(never)
	}
}

func (w *writer) runJob(j *job) error {
	err := j.write()
	if r, ok := errors.AsType[refusal](err); ok {
		j.refused = r.error
		return nil
	}
	return err
}

// rollback ends a failed transaction, unless SQLite has already done so.
func (w *writer) rollback() error {
	err := w.exec("ROLLBACK")
	if resultCode(err) == 1 {
		return nil // no transaction is active
	}
	return err
}

// synchronous says whether the next commit waits for the disk.
func (w *writer) synchronous(full bool) error {
	if w.full == full {
		return nil
	}
	level := "NORMAL"
	if full {
		level = "FULL"
	}
	// This pragma acts when it is compiled, so it can't be prepared once.
	if _, err := w.conn.ExecContext(context.Background(), "PRAGMA synchronous = "+level); err != nil {
		return err
	}
	w.full = full
	return nil
}

// stmt prepares a statement once. The context of a caller never interrupts a commit
// that others share, so the writer has none.
func (w *writer) stmt(query string) (*sql.Stmt, error) {
	if s, ok := w.stmts[query]; ok {
		return s, nil
	}
	s, err := w.conn.PrepareContext(context.Background(), query)
	if err != nil {
		return nil, fmt.Errorf("preparing %q: %w", query, err)
	}
	w.stmts[query] = s
	return s, nil
}

func (w *writer) exec(query string, args ...any) error {
	s, err := w.stmt(query)
	if err != nil {
		return err
	}
	_, err = s.Exec(args...)
	return err
}

// execOne runs a statement that must change exactly one row.
func (w *writer) execOne(query string, args ...any) error {
	s, err := w.stmt(query)
	if err != nil {
		return err
	}
	result, err := s.Exec(args...)
	if err != nil {
		return err
	}
	if n, err := result.RowsAffected(); err != nil || n != 1 {
		return fmt.Errorf("%q changed %d rows, expected one: %w", query, n, errors.Join(err, ErrCorrupt))
	}
	return nil
}

func (w *writer) close() error {
	errs := []error{}
	for _, s := range w.stmts {
		errs = append(errs, s.Close())
	}
	return errors.Join(append(errs, w.conn.Close())...)
}

// do hands a job to the writer and waits until it is committed.
func (s *Store) do(ctx context.Context, durable bool, write func() error) error {
	return s.submit(ctx, &job{write: write, durable: durable})
}

// submit queues a job and waits for its answer.
func (s *Store) submit(ctx context.Context, j *job) error {
	j.done = make(chan error, 1)
	select {
	case <-s.closing:
		return ErrClosed
	default:
	}
	select {
	case s.jobs <- j: // also when whoever asks has no time left to wait
	default:
		select {
		case s.jobs <- j:
		case <-s.closing:
			return ErrClosed
		case <-ctx.Done():
			return fmt.Errorf("%w: %w: %w", ErrWrite, ErrQueueFull, ctx.Err())
		}
	}
	select {
	case err := <-j.done:
		return err
	case <-s.gone:
		return j.answered()
	case <-ctx.Done():
		return fmt.Errorf("%w: %w: %w", ErrWrite, ErrSlow, ctx.Err())
	}
}

// answered is the answer of a job once the writer has ended: it came too late
// when there is none.
func (j *job) answered() error {
	select {
	case err := <-j.done:
		return err
	default:
		return ErrClosed
	}
}
