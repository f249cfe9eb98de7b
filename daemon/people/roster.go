// Package people keeps who may sign in: accounts with roles, invitations, tokens
// for scripts, sessions. Everything stands in two files of the data folder that only
// the program's own user can read, and nothing in them gives a password, a session
// or a token away; the key of an app that shows codes must stand there as it is. The
// record book is told who did what, never with what secret.
package people

import (
	"context"
	"errors"
	"os"
	"path/filepath"
	"sync"
	"time"

	"go.uber.org/zap"

	"wetside/daemon/history"
	"wetside/daemon/house"
	"wetside/dashboard/people"
	"wetside/rules/access"
	"wetside/sensors"
)

// Book is where it is recorded who did what.
type Book interface {
	Record(ctx context.Context, e history.Entry) (history.Record, error)
}

// Options say where the files are and what a roster needs from outside.
type Options struct {
	// Dir is the data folder.
	Dir string
	// Lasting is how long a session lasts.
	Lasting time.Duration
	// Cost is that of a new password.
	Cost Cost
	// SecondStep is the role from which on a second step is asked for; empty for none.
	SecondStep access.Role

	// House says who somebody is beside the accounts; nil for none. Run closes it.
	House *house.Provider

	Book  Book
	Clock sensors.Clock
	Log   *zap.Logger
}

// Roster is the people of a running daemon. Its methods may be called from any
// goroutine; [Roster.Run] looks after it until its context ends.
type Roster struct {
	keeping
	options Options
	hasher  *hasher

	mu       sync.Mutex // over what follows
	register *register
	read     mark // of the file when it was read last
	sessions sessions
	tries    *tries
	tickets  map[string]ticket  // by [keyHash] of what the browser shows
	guests   map[string]*guest  // by [keyHash] of the key of a session
	leaving  map[string]leaving // likewise of what the browser shows when it is back
	untold   []note             // acts that the record book does not have yet

	telling sync.Mutex // lets one at a time write to the record book
	behind  bool       // the book took nothing when it was told last; only under telling
}

var _ people.Accounts = (*Roster)(nil)

// mark is by what a change of a file is noticed.
type mark struct {
	changed time.Time
	size    int64
}

func markOf(dir string) mark {
	info, err := os.Stat(filepath.Join(dir, FileName))
	if err != nil {
		return mark{}
	}
	return mark{info.ModTime(), info.Size()}
}

// Open reads who may sign in.
func Open(o Options) (*Roster, error) {
	r := &Roster{options: o, hasher: newHasher(o.Cost), tries: newTries(), tickets: map[string]ticket{},
		guests: map[string]*guest{}, leaving: map[string]leaving{}, read: markOf(o.Dir)}
	r.keeping.change = func(ctx context.Context, f func(*register, By) error) error {
		return r.change(ctx, func(reg *register) error { return f(reg, r.by(ctx)) })
	}
	var errFile, errSessions error
	r.register, errFile = load(o.Dir)
	r.sessions, errSessions = loadSessions(o.Dir)
	return r, errors.Join(errFile, errSessions)
}

// look is how often the file is looked at for what another program changed in it.
const look = 2 * time.Second

// Run takes over what the command line changed in the file, and lets sessions end,
// until ctx ends.
func (r *Roster) Run(ctx context.Context) {
	var asking sync.WaitGroup
	defer asking.Wait()
	if r.options.House != nil {
		asking.Go(func() { r.askHouse(ctx) })
	}
	for ctx.Err() == nil {
		r.refresh()
		r.tell(ctx)
		sensors.Pause(ctx, r.options.Clock, look)
	}
}

// refresh takes over what another program changed.
func (r *Roster) refresh() {
	r.mu.Lock()
	defer r.mu.Unlock()
	if now := markOf(r.options.Dir); now != r.read {
		fresh, err := load(r.options.Dir)
		r.read = now
		if err != nil {
			r.options.Log.Error("the people known before stay in force", zap.Error(err))
			return
		}
		r.register = fresh
	}
	if r.sessions.dropEnded(r.options.Clock.Now().Wall) {
		r.keepSessions()
	}
}

// change changes the file and what is known of it, and tells the record book.
func (r *Roster) change(ctx context.Context, f func(*register) error) error {
	r.mu.Lock()
	fresh, err := change(r.options.Dir, f)
	if err == nil {
		r.register, r.read = fresh, markOf(r.options.Dir)
	}
	r.mu.Unlock()
	if err == nil {
		r.tell(ctx)
	}
	return err
}
