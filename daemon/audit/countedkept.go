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
	"time"

	"wetside/daemon/history/disk"
	"wetside/daemon/history/pack"
	"wetside/rules/breathing"
	"wetside/rules/coverage"
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
// they were counted from. Minutes are kept value by value: encoding/gob reads a list of numbers many
// times as fast as one of structures, and ten years have millions of minutes.
type keptSession struct {
	From    string
	Covered []coverage.Coverage
	Flow    bool
	// Air are the beginnings of the minutes in milliseconds and their readings, AirFigures the lowest, the
	// highest and the sum of these.
	Air        [2][]int64
	AirFigures [3][]float64
	Gases      []keptGas
}

// keptGas are the minutes of a gas: the times with a value, below detection and over the range, and
// the highest value and the sum.
type keptGas struct {
	Times   [3][]int64
	Figures [2][]float64
}

// kept is what the readings of a session came to, to be written down.
func (t taken) kept(from string) keptSession {
	k := keptSession{From: from, Covered: t.Covered, Flow: t.Flow, Gases: make([]keptGas, len(t.Gases))}
	for _, m := range t.Air {
		k.Air[0], k.Air[1] = append(k.Air[0], m.At.UnixMilli()), append(k.Air[1], int64(m.Readings))
		k.AirFigures[0], k.AirFigures[1], k.AirFigures[2] = append(k.AirFigures[0], m.Low), append(k.AirFigures[1], m.High),
			append(k.AirFigures[2], m.Sum)
	}
	for i, minutes := range t.Gases {
		g := &k.Gases[i]
		for _, m := range minutes {
			for n, d := range [...]time.Duration{m.Known, m.Below, m.Over} {
				g.Times[n] = append(g.Times[n], int64(d))
			}
			g.Figures[0], g.Figures[1] = append(g.Figures[0], m.High), append(g.Figures[1], m.Sum)
		}
	}
	return k
}

// taken is what was kept, as the readings came to it.
func (k keptSession) taken() taken {
	t := taken{Covered: k.Covered, Flow: k.Flow, Air: make([]past.AirMinute, len(k.Air[0])), Gases: make([][]breathing.Minute, len(k.Gases))}
	for i, at := range k.Air[0] {
		t.Air[i] = past.AirMinute{At: time.UnixMilli(at).UTC(), Readings: int(k.Air[1][i]), Low: k.AirFigures[0][i], High: k.AirFigures[1][i],
			Sum: k.AirFigures[2][i]}
	}
	for n, g := range k.Gases {
		t.Gases[n] = make([]breathing.Minute, len(g.Times[0]))
		for i, known := range g.Times[0] {
			t.Gases[n][i] = breathing.Minute{Known: time.Duration(known), Below: time.Duration(g.Times[1][i]), Over: time.Duration(g.Times[2][i]),
				High: g.Figures[0][i], Sum: g.Figures[1][i]}
		}
	}
	return t
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
	if k, found := y.found[keyOf(s)]; found && k.From == from {
		return k.taken(), true
	}
	return taken{}, false
}

// keep puts what a session came to in the place of what was kept of it.
func (y *keptYear) keep(s evening, from string, t taken) {
	y.mu.Lock()
	defer y.mu.Unlock()
	y.found[keyOf(s)], y.added = t.kept(from), true
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
