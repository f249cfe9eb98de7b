package daemon

import (
	"bytes"
	"context"
	"crypto/sha256"
	"encoding/json"
	"errors"
	"fmt"
	"io/fs"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"sync"
	"time"

	"go.uber.org/zap"

	"wetside/chem/ledger"
	"wetside/daemon/history"
	"wetside/daemon/history/book"
	"wetside/daemon/history/disk"
	"wetside/daemon/people"
	"wetside/rules"
	"wetside/rules/access"
	"wetside/rules/duty"
	"wetside/rules/past"
	"wetside/rules/record"
	"wetside/rules/screentest"
	"wetside/sensors"
	"wetside/sensors/quantity/phrase"
)

// recallName is the file beside the history that says which records a start must read.
const recallName = "wetside.recall"

// recallEvery is how often the file is brought up to date, and recallAfter how many records
// must have been written since.
const (
	recallEvery = 6 * time.Hour
	recallAfter = 500
)

// recalls knows, for each room, which records of the book bring its board back, so that a
// start need not read a book of many years. It keeps numbers of records alone: what is shown
// always comes from the book. Its methods may be called from any goroutine.
type recalls struct {
	store *history.Store
	log   *zap.Logger
	path  string
	by    string // what a file must have been written by to count

	mu   sync.Mutex
	kept keptRecalls
}

// keptRecalls is the content of the file: the records that count up to a checkpoint.
type keptRecalls struct {
	By    string              `json:"by"`
	Upto  string              `json:"checkpoint"`
	Rooms map[string][]uint64 `json:"rooms"`
	upto  uint64
}

// openRecalls reads the file. One that does not fit the book or the program, or can't be
// read, is passed over, and the book is read from its beginning.
func openRecalls(ctx context.Context, o Options, store *history.Store) (*recalls, error) {
	r := &recalls{store: store, log: o.Log, path: filepath.Join(o.Config.Data, recallName),
		by: o.Version + ": " + strings.Join(rules.RecalledKinds(), ", ")}
	kept, err := readRecalls(r.path)
	if err == nil && kept.By == r.by {
		var at book.Checkpoint
		if at, err = book.ParseCheckpoint(kept.Upto); err == nil {
			err = store.Holds(ctx, at)
		}
		if kept.upto = at.Number; err == nil {
			r.kept = kept
		}
	}
	if _, is := errors.AsType[*book.Broken](err); is || errors.Is(err, fs.ErrNotExist) {
		err = nil // another book, such as one that was restored
	}
	if err != nil {
		o.Log.Info("which records a start must read is not known, so the whole book is read", zap.Error(err))
	}
	return r, ctx.Err()
}

// readRecalls reads a file that begins with the SHA-256 of the rest.
func readRecalls(path string) (kept keptRecalls, err error) {
	text, err := os.ReadFile(path)
	if err != nil {
		return kept, err
	}
	sum, content, _ := bytes.Cut(text, []byte("\n"))
	if string(sum) != fmt.Sprintf("%x", sha256.Sum256(content)) {
		return kept, phrase.Errorf("%s is damaged: expected its first line to be the SHA-256 of the rest", path)
	}
	return kept, json.Unmarshal(content, &kept)
}

// each gives the records that bring the board of a room back, up to a record; zero is the last.
func (r *recalls) each(ctx context.Context, room string, upto uint64, read func(record.Record)) error {
	r.mu.Lock()
	numbers, known := r.kept.Rooms[room]
	listed := r.kept.upto // the record up to which those that count are listed
	r.mu.Unlock()
	if !known {
		listed = 0
	}
	queries := []history.Query{{Room: room, Kinds: rules.RecalledKinds(), AfterNumber: listed, UpTo: upto}}
	if len(numbers) > 0 {
		queries = append([]history.Query{{Room: room, Numbers: numbers}}, queries...)
	}
	for _, q := range queries {
		for rec, err := range r.store.EachTold(ctx, q) {
			if err != nil {
				return phrase.Errorf("the record book of room %s can't be read: %w", room, err)
			}
			read(rec)
		}
	}
	return nil
}

// run brings the file up to date now and then until ctx ends. What goes wrong costs the next
// start some time and nothing else.
func (r *recalls) run(ctx context.Context, s *site) {
	for ctx.Err() == nil {
		if err := r.renew(ctx, s.everyRoom()); err != nil && ctx.Err() == nil {
			r.log.Warn("which records the next start must read could not be written down", zap.Error(err))
		}
		sensors.Pause(ctx, s.clock, recallEvery)
	}
}

// renew lists the records that count up to the newest one and writes the file.
func (r *recalls) renew(ctx context.Context, rooms []*room) error {
	last := r.store.Checkpoint()
	r.mu.Lock()
	before := r.kept.upto
	r.mu.Unlock()
	if last.Number < before+recallAfter {
		return nil
	}
	next := keptRecalls{By: r.by, Upto: last.String(), Rooms: map[string][]uint64{}, upto: last.Number}
	for _, room := range rooms {
		var matters rules.MatterBook
		if err := r.each(ctx, room.config.ID, last.Number, matters.Read); err != nil {
			return err
		}
		next.Rooms[room.config.ID] = matters.Numbers()
	}
	content, err := json.Marshal(next)
	if err != nil {
		return err
	}
	if err := disk.WriteBytes(r.path, 0o640, fmt.Appendf(nil, "%x\n%s", sha256.Sum256(content), content)); err != nil {
		return err
	}
	r.mu.Lock()
	defer r.mu.Unlock()
	r.kept = next
	return nil
}

// Kinds puts together every kind of record that this program writes, each declared
// beside its content. One that is declared twice or in part keeps the program from starting.
func Kinds() (record.Registry, error) {
	return record.NewRegistry(slices.Concat(rules.Kinds(), ledger.Kinds(), history.Kinds(), people.Kinds(), ledger.NoteKinds(), []record.Kind{
		duty.Declared(), screentest.Declared(),
		{Name: past.Kind, Decode: record.JSON[past.Site], Recalled: record.Never, Least: record.Program, Judges: record.Place},
		{Name: backupKind, Decode: record.JSON[backupNote], Recalled: record.Never, Least: access.Keeper, Judges: record.Nothing},
	})...)
}
