package disktest

import (
	"math/rand/v2"
	"os"
	"path/filepath"
	"strings"
)

// sector is what a disk writes whole or not at all.
const sector = 512

// file is one file as it stands on the platter, and what is still on its way there.
type file struct {
	platter []byte
	pending []change
}

// change is a write, or a truncation to a size when data is nil.
type change struct {
	at   int64
	data []byte
}

func (f *file) apply(c change) {
	end := c.at + int64(len(c.data))
	if c.data == nil {
		f.platter = f.platter[:min(c.at, int64(len(f.platter)))]
		return
	}
	if short := end - int64(len(f.platter)); short > 0 {
		f.platter = append(f.platter, make([]byte, short)...)
	}
	copy(f.platter[c.at:], c.data)
}

// known gives the file of a name; what it holds when first seen is on the platter.
func (d *Disk) known(path string) *file {
	name := filepath.Base(path)
	f, ok := d.files[name]
	if !ok {
		f = &file{}
		f.platter, _ = os.ReadFile(path) // a file that is not there yet is empty
		d.files[name] = f
	}
	return f
}

func (d *Disk) open(path string) {
	d.mu.Lock()
	defer d.mu.Unlock()
	d.known(path)
}

func (d *Disk) remove(path string) {
	d.mu.Lock()
	defer d.mu.Unlock()
	delete(d.files, filepath.Base(path))
}

func (d *Disk) change(path string, c change) {
	d.mu.Lock()
	defer d.mu.Unlock()
	f := d.known(path)
	f.pending = append(f.pending, c)
}

// synced puts what was pending on the platter. A sync that failed loses it: the
// operating system may count such pages as clean although they never arrived.
func (d *Disk) synced(path string, ok bool) {
	d.mu.Lock()
	defer d.mu.Unlock()
	f := d.known(path)
	for _, c := range f.pending {
		if ok {
			f.apply(c)
		}
	}
	f.pending = nil
}

// Cut writes to a folder what the disk would hold if the power were cut now: all
// that was synced, and of the rest each sector by chance.
func (d *Disk) Cut(dice *rand.Rand, into string) error {
	d.mu.Lock()
	defer d.mu.Unlock()
	for name, f := range d.files {
		if strings.HasSuffix(name, "-shm") {
			continue // of no use to the next start
		}
		left := file{platter: append([]byte(nil), f.platter...)}
		chance := dice.Float64()
		for _, c := range f.pending {
			left.survive(dice, c, chance)
		}
		if err := os.WriteFile(filepath.Join(into, name), left.platter, 0o640); err != nil {
			return err
		}
	}
	return nil
}

// survive lets each sector of a change arrive by chance.
func (f *file) survive(dice *rand.Rand, c change, chance float64) {
	if c.data == nil {
		if dice.Float64() < chance {
			f.apply(c)
		}
		return
	}
	for from := 0; from < len(c.data); {
		to := min(len(c.data), from+sector-int((c.at+int64(from))%sector))
		if dice.Float64() < chance {
			f.apply(change{c.at + int64(from), c.data[from:to]})
		}
		from = to
	}
}
