package audit

import (
	"bytes"
	"crypto/sha256"
	"encoding/gob"
	"encoding/json"
	"errors"
	"fmt"
	"os"
	"path/filepath"
	"strings"
	"sync"

	"wetside/daemon/history/disk"
	"wetside/daemon/history/pack"
	"wetside/rules/past"
)

// keptSessions are the files of what readings came to, by the years in which sessions began.
type keptSessions struct {
	open  bool // whether there is a folder for them, and the book holds
	years map[int]*keptYear

	mu     sync.Mutex
	places map[*past.Version]string
}

// keptYear is the content of one file.
type keptYear struct {
	path string

	mu    sync.Mutex
	found map[string]keptSession // by room and beginning; nil until it is read
	added bool
	left  int // how many sessions of the report are still to be counted
}

// keptSession is what was kept of one session: what its readings came to, and the hash of what
// they were counted from.
type keptSession struct {
	From  string
	Taken taken
}

func yearOf(s evening) int { return s.Last.Begun.UTC().Year() }

// openKept finds the files for the years of the sessions. Each is read when the first session of
// its year is counted and let go with the last one, as the minutes of ten years fill the memory.
func (g *gathering) openKept() *keptSessions {
	folder := g.book.Folder()
	k := &keptSessions{open: folder != "" && g.data.Book.Holds, years: map[int]*keptYear{}, places: map[*past.Version]string{}}
	for _, e := range g.evenings {
		year := yearOf(e)
		if k.years[year] == nil {
			k.years[year] = &keptYear{path: filepath.Join(folder, fmt.Sprint(countedFile, year))}
		}
		k.years[year].left++
	}
	return k
}

// read reads the file. One that is missing, or damaged, holds nothing.
func (y *keptYear) read() {
	stored, err := os.ReadFile(y.path)
	if err == nil {
		stored, err = pack.Checked(stored)
	}
	if err == nil {
		err = gob.NewDecoder(bytes.NewReader(stored)).Decode(&y.found)
	}
	if err != nil || y.found == nil {
		y.found = map[string]keptSession{}
	}
}

// keyOf tells the sessions of a year apart.
func keyOf(s evening) string {
	return s.Room + " " + s.Last.Begun.UTC().Format("2006-01-02T15:04:05.999999999")
}

// find gives what was kept of a session, if it was counted from the same.
func (y *keptYear) find(s evening, from string) (taken, bool) {
	y.mu.Lock()
	defer y.mu.Unlock()
	if y.found == nil {
		y.read()
	}
	k, found := y.found[keyOf(s)]
	return k.Taken, found && k.From == from
}

// keep puts what a session came to in the place of what was kept of it.
func (y *keptYear) keep(s evening, from string, t taken) {
	y.mu.Lock()
	defer y.mu.Unlock()
	y.found[keyOf(s)], y.added = keptSession{from, t}, true
}

// counted is told of each session of the year. After the last one the file is written, if something
// was added. Whoever may not write there, or has no room, counts again the next time.
func (y *keptYear) counted() {
	y.mu.Lock()
	defer y.mu.Unlock()
	if y.left--; y.left > 0 {
		return
	}
	var text bytes.Buffer
	if y.added && gob.NewEncoder(&text).Encode(y.found) == nil {
		_ = disk.WriteBytes(y.path, 0o644, pack.WithCheck(text.Bytes()))
	}
	y.found = nil
}

// place is the hash of some settings; a version of them holds for many sessions.
func (k *keptSessions) place(v *past.Version) (string, error) {
	k.mu.Lock()
	defer k.mu.Unlock()
	sum, known := k.places[v]
	if known {
		return sum, nil
	}
	text, err := json.Marshal(v.Site)
	k.places[v] = fmt.Sprintf("%x", sha256.Sum256(text))
	return k.places[v], err
}

// ForgetCounted deletes what was kept of sessions and of the record book in a folder, so that nothing is left there of
// samples that were deleted.
func ForgetCounted(folder string) error {
	entries, err := os.ReadDir(folder)
	for _, e := range entries {
		if strings.HasPrefix(e.Name(), countedFile) {
			err = errors.Join(err, os.Remove(filepath.Join(folder, e.Name())))
		}
	}
	return err
}
