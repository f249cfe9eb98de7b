package history

import (
	"errors"
	"fmt"
	"os"
	"sync"
)

// ErrGone says that the files of an open history are no longer those that were opened.
var ErrGone = errors.New("the history was removed or replaced while wetside ran")

// ownFiles are the files of an open history as they were when opened: the history and
// its log. What is written to a removed file is lost when the program ends.
type ownFiles struct {
	mu    sync.Mutex
	files map[string]os.FileInfo // by path
	size  int64                  // the history never shrinks
}

// note takes the files that are there now for those of this store.
func (o *ownFiles) note(path string) error {
	o.mu.Lock()
	defer o.mu.Unlock()
	files := map[string]os.FileInfo{}
	for _, p := range []string{path, path + "-wal"} {
		info, err := os.Stat(p)
		if err != nil {
			return explain(err, ErrWrite, p)
		}
		os.SameFile(info, info) // has Windows look up the index of the file now and not later
		files[p] = info
	}
	o.files, o.size = files, files[path].Size()
	return nil
}

// own is nil while the files of the store are those that it opened. The operating system
// gives the number of a file to no other one while the file is open.
func (s *Store) own() error {
	o := &s.ownFiles
	o.mu.Lock()
	defer o.mu.Unlock()
	for path, was := range o.files {
		is, err := os.Stat(path)
		switch {
		case err != nil:
			return gone(path, err.Error())
		case !os.SameFile(was, is):
			return gone(path, "another file has its name")
		case path == s.path && is.Size() < o.size:
			return gone(path, fmt.Sprintf("it was cut from %d to %d bytes", o.size, is.Size()))
		case path == s.path:
			o.size = is.Size()
		}
	}
	return nil
}

// closed forgets the log, which goes when the last connection closes.
func (o *ownFiles) closed(path string) {
	o.mu.Lock()
	defer o.mu.Unlock()
	delete(o.files, path+"-wal")
}

func gone(path, why string) error {
	return fmt.Errorf("%w: %s: %s. Nothing is recorded until the file is back: stop wetside, put the file back or restore the last "+
		"backup, and start again", ErrGone, path, why)
}
