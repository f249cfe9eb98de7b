package daemon

import (
	"cmp"
	"context"
	"path/filepath"
	"runtime"

	"wetside/daemon/config"
	"wetside/daemon/notify"
	"wetside/daemon/stamp"
	"wetside/dashboard/keep"
)

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
