package viewtest

import (
	"time"

	"wetside/dashboard/keep"
)

// Maintenance is an invented computer, of which no backup can be asked.
type Maintenance struct {
	keep.Maintenance
	state keep.System
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
func (k *Maintenance) System() keep.System { return k.state }

// Change changes how the computer stands.
func (k *Maintenance) Change(change func(*keep.System)) { change(&k.state) }
