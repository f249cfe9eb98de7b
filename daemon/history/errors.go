package history

import (
	"errors"
	"fmt"
	"io/fs"
	"path/filepath"
	"syscall"

	"modernc.org/sqlite"

	"wetside/daemon/history/disk"
)

// Errors that the history wraps, each with the path and what to do about it.
var (
	ErrLocked   = errors.New("the data folder is in use by another wetside")
	ErrNewer    = errors.New("the history was written by a newer wetside")
	ErrCorrupt  = errors.New("the history file is damaged")
	ErrReadOnly = errors.New("the history can't be written: no permission")
	ErrWrite    = errors.New("the history was not written")
	ErrRead     = errors.New("the history can't be read")
	ErrCopy     = errors.New("no copy of the history was made")
	// ErrLess refuses a start on a history that holds less than the last run left.
	ErrLess = errors.New("a part of the history is missing")
	// ErrQueueFull comes with ErrWrite: the disk is too slow, nothing of the write was taken, try again.
	ErrQueueFull = errors.New("too much waits to be written")
	// ErrSlow comes with ErrWrite: the write was taken and will be done, but not yet.
	ErrSlow           = errors.New("still being written")
	ErrClosed         = errors.New("the history is closed")
	ErrUnitChanged    = errors.New("the unit of a channel changed")
	ErrUnknownChannel = errors.New("unknown channel")
	ErrBadSample      = errors.New("not a sample")
	ErrBadEntry       = errors.New("not a record")
)

// Primary result codes of SQLite that people are told apart by.
// Source: sqlite.org/rescode.html.
const (
	codeBusy     = 5
	codeReadOnly = 8
	codeCorrupt  = 11
	codeFull     = 13
	codeCantOpen = 14
	codeNotADB   = 26
	// codeNoShared says that the file which connections share can't grow: the disk is full.
	codeNoShared = 10 | 19<<8
)

// explain turns what the database or the file system said into a sentence of
// ours with a hint; fallback is the error for which there is no better name.
func explain(err, fallback error, path string) error {
	if err == nil {
		return nil
	}
	if errors.Is(err, ErrGone) {
		return fmt.Errorf("%w: %w", fallback, err)
	}
	kind, hint := fallback, ""
	switch code := resultCode(err); {
	case wholeCode(err) == codeNoShared:
		kind, hint = ErrWrite, "the disk is full: free some space, and start again"
	case code == codeCorrupt || code == codeNotADB:
		kind, hint = ErrCorrupt, remedy(path)
	case code == codeReadOnly || errors.Is(err, fs.ErrPermission) || errors.Is(err, syscall.EROFS):
		kind, hint = ErrReadOnly, "let the user that runs wetside write to the folder and the files in it"
	case code == codeFull || disk.Full(err):
		hint = "the disk is full: free some space; writing resumes by itself"
	case code == codeBusy:
		hint = "another program holds the file: close it; writing resumes by itself"
	case code == codeCantOpen:
		hint = "check that the folder exists and can be written"
	case errors.Is(fallback, ErrRead), errors.Is(fallback, ErrCorrupt): // what the disk does not give is not damaged yet
		kind, hint = ErrRead, "check the disk"
	default:
		hint = "check the disk; writing resumes by itself when it works again"
	}
	return fmt.Errorf("%w: %s: %s (%w)", kind, path, hint, err)
}

// remedy is what to do about a damaged file: a backup can't be put right by a backup of itself.
func remedy(path string) string {
	if filepath.Base(path) != FileName {
		return "use another backup"
	}
	return "keep the file, restore the last backup in its place, and start again"
}

// resultCode is the primary result code of a database error, 0 for another error.
func resultCode(err error) int { return wholeCode(err) & 0xff }

// wholeCode is the code that tells the causes of a primary one apart too.
func wholeCode(err error) int {
	if e, ok := errors.AsType[*sqlite.Error](err); ok {
		return e.Code()
	}
	return 0
}
