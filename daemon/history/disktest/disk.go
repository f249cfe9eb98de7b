// Package disktest puts a disk that fails under the files of a history. It sits
// between SQLite and the operating system as a file system of SQLite's own kind,
// passes everything on while nothing is wrong, and remembers what was written
// since the last sync, so that a test can cut the power.
package disktest

import (
	"math/rand/v2"
	"path/filepath"
	"sync"
	"testing"
	"time"

	sqlite3 "modernc.org/sqlite/lib"
)

// Op is what a disk is asked to do.
type Op int

// The operations that can fail.
const (
	Read Op = iota
	Write
	Truncate
	Sync
)

// What a disk answers, as SQLite names it.
const (
	Full     = sqlite3.SQLITE_FULL
	ReadOnly = sqlite3.SQLITE_READONLY
	IOError  = sqlite3.SQLITE_IOERR
)

// Fault is what is wrong with one operation.
type Fault struct {
	Op Op
	// Code is the answer; 0 lets the operation through after the Delay.
	Code int32
	// Chance of the fault, 0 to 1; 0 means that it always comes.
	Chance float64
	// Torn writes the first half before a write fails.
	Torn  bool
	Delay time.Duration
}

// Disk is the disk under one folder. Its methods may be called from any goroutine.
type Disk struct {
	dir    string
	mu     sync.Mutex
	dice   *rand.Rand
	faults []Fault
	hits   int
	files  map[string]*file // by name
}

// On puts a disk under a folder until the test ends; what is opened in it from now on is on that disk.
func On(t testing.TB, dir string, seed uint64) *Disk {
	t.Helper()
	dir, err := filepath.EvalSymlinks(dir)
	if err != nil {
		t.Fatal(err)
	}
	d := &Disk{dir: dir, dice: rand.New(rand.NewPCG(seed, 1)), files: map[string]*file{}}
	if err := plugIn(d); err != nil {
		t.Fatal(err)
	}
	t.Cleanup(func() { plugOut(d) })
	return d
}

// Break makes the disk fail from now on, in place of what was wrong before.
func (d *Disk) Break(faults ...Fault) {
	d.mu.Lock()
	defer d.mu.Unlock()
	d.faults = faults
}

// Mend makes the disk whole again and tells how often it failed since it was last whole.
func (d *Disk) Mend() int {
	d.mu.Lock()
	defer d.mu.Unlock()
	hits := d.hits
	d.faults, d.hits = nil, 0
	return hits
}

// suffer gives the fault of an operation; the zero Fault when it succeeds.
func (d *Disk) suffer(op Op) Fault {
	f := d.pick(op)
	time.Sleep(f.Delay)
	return f
}

func (d *Disk) pick(op Op) Fault {
	d.mu.Lock()
	defer d.mu.Unlock()
	for _, f := range d.faults {
		if f.Op == op && (f.Chance == 0 || d.dice.Float64() < f.Chance) {
			d.hits++
			return f
		}
	}
	return Fault{}
}
