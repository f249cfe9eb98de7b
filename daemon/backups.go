package daemon

import (
	"cmp"
	"context"
	"encoding/json"
	"errors"
	"os"
	"path/filepath"
	"runtime"
	"slices"
	"sync/atomic"
	"time"

	"go.uber.org/zap"

	"wetside/daemon/config"
	"wetside/daemon/history"
	"wetside/daemon/history/book"
	"wetside/daemon/notify"
	"wetside/daemon/stamp"
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
	doubt   error       // an older copy that is no beginning of the last one; nil when all are
	tried   time.Time
}

// backupNote is what the book keeps of a copy.
type backupNote struct {
	File       string   `json:"file"`
	Bytes      int64    `json:"bytes"`
	Checkpoint string   `json:"checkpoint"`
	Removed    []string `json:"removed,omitempty"`
	// Apart names older copies that are no beginning of this one, and stay.
	Apart []string `json:"apart,omitempty"`
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
		return phrase.Errorf("another backup is still being made: look again in a minute")
	}
	select {
	case err := <-a.reply:
		return err
	case <-ctx.Done():
		return phrase.Errorf("the backup takes long and goes on: look again in a minute")
	}
}

// make copies and verifies the history, records that, and removes copies beyond
// those that are to be kept.
func (b *backups) make(ctx context.Context, person string) error {
	c, state := b.site.settings().Backup, *b.shown.Load()
	state.tried = b.site.clock.Now().Wall
	made, doubt, err := b.copyTo(ctx, c, person)
	if err != nil {
		state.problem = err
		b.log.Warn("no backup was made", zap.Error(err))
	} else {
		state.last, state.problem, state.doubt = made, nil, doubt
	}
	if doubt != nil {
		b.log.Error("a backup disagrees with the record book", zap.Error(doubt))
	}
	b.shown.Store(&state)
	return err
}

func (b *backups) copyTo(ctx context.Context, c config.Backup, person string) (made keep.Backup, doubt, err error) {
	if c.Folder == "" {
		return made, nil, phrase.Errorf("no folder for backups is configured: add a [backup] table with folder = to the configuration")
	}
	now := b.site.clock.Now().Wall.UTC()
	n := backupNote{File: nameOfCopy(c.Folder, now)}
	last, err := b.site.store.Backup(ctx, n.File)
	if err != nil {
		return made, nil, err
	}
	info, err := os.Stat(n.File)
	if err != nil {
		return made, nil, phrase.Errorf("the backup %s is not there after it was made: %w", n.File, err)
	}
	copies := b.copies(c)
	n.Apart, doubt = b.compare(ctx, c, copies)
	n.Bytes, n.Checkpoint, n.Removed = info.Size(), last.String(), b.thin(c, copies, n.Apart)
	content, err := json.Marshal(n)
	if err != nil {
		return made, doubt, phrase.Errorf("the record of a backup can't be written down: %w", err)
	}
	r, err := b.site.store.Record(ctx, history.Entry{Kind: backupKind, Person: person, Content: content})
	if err != nil {
		return made, doubt, phrase.Errorf("the backup %s was made, but not recorded: %w", n.File, err)
	}
	return keep.Backup{At: r.At, File: n.File, Bytes: n.Bytes, Record: r.Number}, doubt, nil
}

// nameOfCopy is that of a copy made at this second, or at the next one whose name is free:
// somebody may press for a backup in the second of the daily one.
func nameOfCopy(folder string, at time.Time) string {
	name := filepath.Join(folder, "wetside-"+at.Format("20060102-150405")+".db")
	if _, err := os.Lstat(name); err == nil {
		return nameOfCopy(folder, at.Add(time.Second))
	}
	return name
}

// compare holds every copy against the record book, which each must be a beginning of: number
// and hash of its newest record. It names those that are not, and says what that means.
func (b *backups) compare(ctx context.Context, c config.Backup, copies []string) (apart []string, doubt error) {
	for _, name := range copies {
		last, err := b.site.store.CopyWithin(ctx, filepath.Join(c.Folder, name))
		broken, is := errors.AsType[*book.Broken](err)
		switch {
		case is:
			apart = append(apart, name)
			doubt = phrase.Errorf("the record book no longer agrees with the older backup %s at record %d: %s. Keep that backup: "+
				"if nobody restored an older backup since, somebody changed or removed records. "+
				"Once that is explained, move the backup to another folder", name, last.Number, broken.Why)
		case err != nil:
			b.log.Warn("an older backup can't be compared with the record book", zap.String("backup", name), zap.Error(err))
		}
	}
	return apart, doubt
}

// ourCopies matches the names of copies that this program made by itself.
const ourCopies = "wetside-[0-9][0-9][0-9][0-9][0-9][0-9][0-9][0-9]-[0-9][0-9][0-9][0-9][0-9][0-9].db"

// copies are the names of our copies, oldest first.
func (b *backups) copies(c config.Backup) (names []string) {
	list, err := os.ReadDir(c.Folder)
	if err != nil {
		b.log.Warn("old backups can't be listed", zap.Error(err))
		return nil
	}
	for _, entry := range list {
		if ours, _ := filepath.Match(ourCopies, entry.Name()); ours {
			names = append(names, entry.Name())
		}
	}
	slices.Sort(names)
	return names
}

// thin removes the oldest of our copies beyond those that are to be kept. A copy that
// disagrees with the record book is evidence and stays.
func (b *backups) thin(c config.Backup, copies, apart []string) (removed []string) {
	for _, name := range copies[:max(0, len(copies)-c.Keep)] {
		if slices.Contains(apart, name) {
			continue
		}
		if err := os.Remove(filepath.Join(c.Folder, name)); err != nil {
			b.log.Warn("an old backup can't be removed", zap.Error(err))
			continue
		}
		removed = append(removed, name)
	}
	return removed
}

// keeping is what the keeper's page sees of a site.
type keeping struct {
	*site
	backups *backups
	faults  *faults
	stamps  *stamp.Stamper // nil when no authority stamps the book
	teller  *notify.Teller // nil when nobody is told outside
}

var _ keep.Maintenance = keeping{}

// settings is the configuration in force.
func (s *site) settings() config.Config {
	return s.present().config
}

// System says how the program and its computer stand.
func (k keeping) System() keep.System {
	c, h, state := k.settings(), k.store.Health(), k.backups.shown.Load()
	house := keep.System{
		Version: k.version, Go: runtime.Version(), System: runtime.GOOS + "/" + runtime.GOARCH, Started: k.started.Wall,
		Folder: c.Data, HistoryBytes: h.FileBytes + h.LogBytes, HistoryProblem: h.Problem, Unsealed: cmp.Or(h.Broken, h.Unsealed),
		BackupFolder: c.Backup.Folder, BackupEvery: c.Backup.Every,
		Backup: state.last, BackupProblem: cmp.Or(state.problem, state.doubt), Faults: k.faults.newest(),
	}
	if k.teller != nil {
		standing := k.teller.Standing()
		house.Messages = &keep.Messages{Waiting: standing.Waiting, Delivered: standing.Delivered, Problem: standing.Problem}
	}
	if k.stamps != nil {
		standing := k.stamps.Standing()
		house.Stamp = &keep.Stamp{At: standing.Last.At, Record: standing.Last.Checkpoint.Number, Authority: standing.Last.Authority,
			Problem: standing.Problem}
	}
	if whole, err := filepath.Abs(c.Data); err == nil {
		house.Folder = whole
	}
	if free, total, err := diskSpace(c.Data); err == nil {
		house.DiskFree, house.DiskTotal = free, total
	}
	return house
}

// BackUp copies the history now.
func (k keeping) BackUp(ctx context.Context, person string) error { return k.backups.ask(ctx, person) }
