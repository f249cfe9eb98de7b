package viewtest

import (
	"context"
	"sync"
	"time"

	"wetside/dashboard/keep"
)

// Maintenance is an invented computer; Err is what a backup is refused with.
type Maintenance struct {
	mu    sync.Mutex
	state keep.System
	Err   error
	by    []string
}

// NewMaintenance is a computer in order, with a backup of the night before and one warning.
func NewMaintenance() *Maintenance {
	return &Maintenance{state: keep.System{Version: "v0", Go: "go1", System: "linux/amd64", Started: Evening().Add(-26 * time.Hour),
		Folder: "/srv/darkroom/data", HistoryBytes: 48_300_000, DiskFree: 61_000_000_000, DiskTotal: 256_000_000_000,
		BackupFolder: "/media/disk", BackupEvery: 24 * time.Hour,
		Backup: keep.Backup{At: Evening().Add(-18 * time.Hour), File: "/media/disk/wetside-20260114-024600.db", Bytes: 47_900_000, Record: 311},
		Faults: []keep.Fault{{At: Evening().Add(-3 * time.Hour), Text: "a line is gone", Why: "no such device", Do: "Look at its plug.",
			Count: 3}, {At: Evening().Add(-5 * time.Hour), Text: "a page failed", Grave: true, Count: 1}}}}
}

// System is how the invented computer stands.
func (k *Maintenance) System() keep.System {
	k.mu.Lock()
	defer k.mu.Unlock()
	return k.state
}

// Change changes how the computer stands.
func (k *Maintenance) Change(change func(*keep.System)) {
	k.mu.Lock()
	defer k.mu.Unlock()
	change(&k.state)
}

// BackUp notes who asked, and has a backup made on the invented evening.
func (k *Maintenance) BackUp(_ context.Context, person string) error {
	k.mu.Lock()
	defer k.mu.Unlock()
	if k.Err != nil {
		return k.Err
	}
	k.by = append(k.by, person)
	k.state.Backup = keep.Backup{At: Evening(), File: "/media/disk/wetside-20260114-204600.db", Bytes: 48_000_000, Record: 320}
	return nil
}

// Asked are those who asked for a backup.
func (k *Maintenance) Asked() []string {
	k.mu.Lock()
	defer k.mu.Unlock()
	return k.by
}
