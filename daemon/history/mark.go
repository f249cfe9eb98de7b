package history

import (
	"context"
	"encoding/binary"
	"encoding/json"
	"errors"
	"fmt"
	"io"
	"io/fs"
	"os"
	"path/filepath"

	"wetside/daemon/history/book"
	"wetside/daemon/history/disk"
)

// markName is the file beside the history that says how far the history reaches, so that
// a start notices when the history was removed, emptied or replaced by an older one.
const markName = "wetside.mark"

// mark is what a run left in the folder.
type mark struct {
	Number uint64 `json:"number"`
	Hash   string `json:"hash"`
	// Copy is set while a copy in the place of the history still bears the sign of one.
	Copy bool `json:"copy,omitempty"`
}

func (m mark) checkpoint() book.Checkpoint { return book.Checkpoint{Number: m.Number, Hash: m.Hash} }

// errLess says what to do about a history of which a part is missing.
func errLess(path, what string) error {
	return fmt.Errorf("%w: %s: %s. Put back what was removed, or restore the last backup with wetside restore after moving what is there "+
		"away. "+
		"If the loss is meant, delete %s beside it and start again: wetside then goes on with what is there, or begins a new book", ErrLess,
		path, what, markName)
}

func readMark(dir string) (*mark, error) {
	path := filepath.Join(dir, markName)
	text, err := os.ReadFile(path)
	if errors.Is(err, fs.ErrNotExist) {
		return nil, nil
	}
	m := &mark{}
	if err == nil {
		err = json.Unmarshal(text, m)
	}
	if err != nil {
		return nil, fmt.Errorf("%w: %s says how far the history reached and can't be read: delete the file if the history beside it is "+
			"whole (%w)", ErrRead, path, err)
	}
	return m, nil
}

// expect compares the files with what the last run left, before anything is opened or made.
func (s *Store) expect(dir string) (err error) {
	if s.before, err = readMark(dir); err != nil {
		return err
	}
	info, err := os.Stat(s.path)
	switch gone := errors.Is(err, fs.ErrNotExist); {
	case s.before == nil && (gone || err == nil && info.Size() == 0):
		return nil
	case gone:
		return errLess(s.path, fmt.Sprintf("the history is gone, it reached record %d", s.before.Number))
	case err != nil:
		return explain(err, ErrRead, s.path)
	case info.Size() == 0:
		return errLess(s.path, fmt.Sprintf("the history is empty, it reached record %d", s.before.Number))
	}
	if s.copied, err = isCopy(s.path); err != nil {
		return err
	}
	if s.copied && fileSize(s.path+"-wal") > 0 && (s.before == nil || !s.before.Copy) {
		return fmt.Errorf("%w: %s is a backup, and the log beside it belongs to another history: move %s-wal and %s-shm away, and start again",
			ErrCorrupt, s.path, filepath.Base(s.path), filepath.Base(s.path))
	}
	return nil
}

// compareMark refuses a book that does not hold the record which the last run left. A log
// that is gone is no loss by itself: whoever closes the file last moves the log into it.
func (s *Store) compareMark(ctx context.Context) error {
	if s.before == nil || s.copied {
		return nil
	}
	err := s.Holds(ctx, s.before.checkpoint())
	if broken, is := errors.AsType[*book.Broken](err); is {
		return errLess(s.path, "the last run left the book at another record: "+broken.Error())
	}
	return err
}

// isCopy looks at the header of a file for the sign of a copy: its bytes 68 to 71, as
// sqlite.org/fileformat.html describes them.
func isCopy(path string) (bool, error) {
	f, err := os.Open(path)
	if err != nil {
		return false, explain(err, ErrRead, path)
	}
	defer f.Close()
	var id [4]byte
	if _, err := f.ReadAt(id[:], 68); err != nil && !errors.Is(err, io.EOF) {
		return false, explain(err, ErrRead, path)
	}
	return binary.BigEndian.Uint32(id[:]) == copyID, nil
}

// Checkpoint is the newest record that is on disk.
func (s *Store) Checkpoint() book.Checkpoint {
	if last := s.last.Load(); last != nil {
		return *last
	}
	return book.Checkpoint{}
}

// leave writes down how far the history reaches, where that has changed. It is for the
// keeper, and for whoever opens or closes the store while no keeper runs.
func (s *Store) leave() error {
	last := s.last.Load()
	if last == nil {
		return nil
	}
	m := mark{Number: last.Number, Hash: last.Hash}
	if s.copied {
		m.Copy, _ = isCopy(s.path) // a file that can't be read now is no copy that was just put there
	}
	if m == s.left || s.own() != nil {
		return nil
	}
	path := filepath.Join(filepath.Dir(s.path), markName)
	if err := disk.WriteBytes(path, 0o640, append(encode(m), '\n')); err != nil {
		return explain(err, ErrWrite, path)
	}
	s.left = m
	return nil
}
