package daemon

import (
	"context"
	"encoding/json"
	"os"
	"path/filepath"
	"slices"
	"sync/atomic"
	"time"

	"go.uber.org/zap"

	"wetside/daemon/config"
	"wetside/daemon/history"
	"wetside/dashboard/keep"
	"wetside/sensors/quantity/phrase"
)

// backupKind is the kind of record of a copy that was made and verified.
const backupKind = "backup made"

// retryBackup is how long after a failed copy the next is tried.
const retryBackup = time.Hour

// backups copies the history to another folder at intervals and when somebody asks
// for it. One goroutine makes the copies; what it did last is read by anybody.
type backups struct {
	site  *site
	log   *zap.Logger
	asked chan backupAsked
	shown atomic.Pointer[backupState]
}

type backupAsked struct {
	person string
	reply  chan error
}

// backupState is how the copies stand.
type backupState struct {
	last    keep.Backup // zero before the first
	problem error       // of the last try, nil when it went well
	tried   time.Time
}

// backupNote is what the book keeps of a copy.
type backupNote struct {
	File       string   `json:"file"`
	Bytes      int64    `json:"bytes"`
	Checkpoint string   `json:"checkpoint"`
	Removed    []string `json:"removed,omitempty"`
}

func newBackups(ctx context.Context, s *site, log *zap.Logger) (*backups, error) {
	b := &backups{site: s, log: log, asked: make(chan backupAsked)}
	var state backupState
	for r, err := range s.store.EachRecord(ctx, history.Query{Kinds: []string{backupKind}}) {
		if err != nil {
			return nil, err
		}
		var n backupNote
		if json.Unmarshal(r.Content, &n) == nil {
			state.last = keep.Backup{At: r.At, File: n.File, Bytes: n.Bytes, Record: r.Number}
		}
	}
	b.shown.Store(&state)
	return b, nil
}

// run makes copies until ctx ends.
func (b *backups) run(ctx context.Context) {
	for {
		select {
		case <-ctx.Done():
			return
		case a := <-b.asked:
			a.reply <- b.make(ctx, a.person)
		case <-b.site.clock.After(time.Minute):
			if b.due() {
				_ = b.make(ctx, "") // told on the keeper's page
			}
		}
	}
}

func (b *backups) due() bool {
	c, state, now := b.site.settings().Backup, b.shown.Load(), b.site.clock.Now().Wall
	if c.Folder == "" || state.problem != nil && now.Sub(state.tried) < retryBackup {
		return false
	}
	return now.Sub(state.last.At) >= c.Every
}

// ask has a copy made now and waits for it.
func (b *backups) ask(ctx context.Context, person string) error {
	a := backupAsked{person, make(chan error, 1)}
	select {
	case b.asked <- a:
	case <-ctx.Done():
		return phrase.Errorf("another copy is still being made: look again in a minute")
	}
	select {
	case err := <-a.reply:
		return err
	case <-ctx.Done():
		return phrase.Errorf("the copy takes long and goes on: look again in a minute")
	}
}

// make copies and verifies the history, records that, and removes copies beyond
// those that are to be kept.
func (b *backups) make(ctx context.Context, person string) error {
	c, state := b.site.settings().Backup, *b.shown.Load()
	state.tried = b.site.clock.Now().Wall
	made, err := b.copyTo(ctx, c, person)
	if err != nil {
		state.problem = err
		b.log.Warn("no backup was made", zap.Error(err))
	} else {
		state.last, state.problem = made, nil
	}
	b.shown.Store(&state)
	return err
}

func (b *backups) copyTo(ctx context.Context, c config.Backup, person string) (keep.Backup, error) {
	if c.Folder == "" {
		return keep.Backup{}, phrase.Errorf("no folder for backups is configured: write a [backup] table with folder = into the configuration")
	}
	now := b.site.clock.Now().Wall.UTC()
	n := backupNote{File: filepath.Join(c.Folder, "wetside-"+now.Format("20060102-150405")+".db")}
	last, err := b.site.store.Backup(ctx, n.File)
	if err != nil {
		return keep.Backup{}, err
	}
	info, err := os.Stat(n.File)
	if err != nil {
		return keep.Backup{}, phrase.Errorf("the copy %s is not there after it was made: %w", n.File, err)
	}
	n.Bytes, n.Checkpoint, n.Removed = info.Size(), last.String(), b.thin(c)
	content, err := json.Marshal(n)
	if err != nil {
		return keep.Backup{}, phrase.Errorf("the record of a copy can't be written down: %w", err)
	}
	r, err := b.site.store.Record(ctx, history.Entry{Kind: backupKind, Person: person, Content: content})
	if err != nil {
		return keep.Backup{}, phrase.Errorf("the copy %s was made, but not recorded: %w", n.File, err)
	}
	return keep.Backup{At: r.At, File: n.File, Bytes: n.Bytes, Record: r.Number}, nil
}

// ourCopies matches the names of copies that this program made by itself.
const ourCopies = "wetside-[0-9][0-9][0-9][0-9][0-9][0-9][0-9][0-9]-[0-9][0-9][0-9][0-9][0-9][0-9].db"

// thin removes the oldest of our copies beyond those that are to be kept.
func (b *backups) thin(c config.Backup) (removed []string) {
	list, err := os.ReadDir(c.Folder)
	if err != nil {
		b.log.Warn("old backups can't be listed", zap.Error(err))
		return nil
	}
	var names []string
	for _, entry := range list {
		if ours, _ := filepath.Match(ourCopies, entry.Name()); ours {
			names = append(names, entry.Name())
		}
	}
	slices.Sort(names)
	for _, name := range names[:max(0, len(names)-c.Keep)] {
		if err := os.Remove(filepath.Join(c.Folder, name)); err != nil {
			b.log.Warn("an old backup can't be removed", zap.Error(err))
			continue
		}
		removed = append(removed, name)
	}
	return removed
}
