package history

import (
	"bytes"
	"context"
	"crypto/sha256"
	"database/sql"
	"errors"
	"fmt"
	"io"
	"os"
	"path/filepath"

	"wetside/daemon/history/book"
	"wetside/daemon/history/disk"
)

// Backup writes a copy of the whole history to a new file, also while another
// process is writing it, and checks the copy: its pages, and every record of its
// book. A file that is already there is left alone. Its seal shows every later change,
// also of readings that no record attests yet.
func (s *Reader) Backup(ctx context.Context, path string) (book.Checkpoint, error) {
	if err := s.copyTo(ctx, path); err != nil {
		return book.Checkpoint{}, err
	}
	if err := seal(path); err != nil {
		return book.Checkpoint{}, errors.Join(explainCopy(err, path), os.Remove(path))
	}
	return verifyCopy(ctx, path)
}

func (s *Reader) copyTo(ctx context.Context, path string) error {
	db, err := sql.Open("sqlite", dataSource(s.path))
	if err != nil {
		return explain(err, ErrRead, s.path)
	}
	defer db.Close()
	return vacuumInto(ctx, db, path)
}

// sealBytes are behind the last page of a backup: the SHA-256 of all before. SQLite reads pages alone, and cuts
// the seal off when it first writes to the file.
const sealBytes = sha256.Size

func seal(path string) error {
	f, err := os.OpenFile(path, os.O_RDWR|os.O_APPEND, 0)
	if err != nil {
		return err
	}
	sum := sha256.New()
	if _, err = io.Copy(sum, f); err == nil {
		_, err = f.Write(sum.Sum(nil))
	}
	return errors.Join(err, f.Sync(), f.Close())
}

// sealHolds compares a backup with its seal; what has none, as it was made by an earlier version or is written
// to, is not compared.
func sealHolds(path string) error {
	if log, err := os.Stat(path + "-wal"); err == nil && log.Size() > 0 {
		return nil
	}
	f, err := os.Open(path)
	if err != nil {
		return explain(err, ErrRead, path)
	}
	defer f.Close()
	info, err := f.Stat()
	if err != nil || info.Size()%512 == 0 { // no page is smaller
		return err
	}
	sum, kept := sha256.New(), make([]byte, sealBytes)
	if _, err = io.CopyN(sum, f, max(0, info.Size()-sealBytes)); err == nil {
		_, err = io.ReadFull(f, kept)
	}
	if err != nil {
		return explain(err, ErrRead, path)
	}
	if !bytes.Equal(sum.Sum(nil), kept) { // nor is it the end of a seal that was cut short
		return fmt.Errorf("%w: %s was damaged or changed after it was made: use another backup", ErrCorrupt, path)
	}
	return nil
}

// verifyCopy checks a copy and removes it when it is not good.
func verifyCopy(ctx context.Context, path string) (book.Checkpoint, error) {
	report, err := VerifyCopy(ctx, path)
	if err == nil {
		err = report.Err()
	}
	if err != nil {
		return report.Last, errors.Join(fmt.Errorf("the backup %s is not good, so it was removed: %w", path, err), os.Remove(path))
	}
	return report.Last, nil
}

// Restore puts a backup into a folder that holds no history, and checks it there.
// The next start says so in the book. The backup itself is left alone.
func Restore(ctx context.Context, from, dir string) (_ book.Checkpoint, err error) {
	path := filepath.Join(dir, FileName)
	for _, name := range []string{path, path + "-wal", path + "-shm"} { // a log that is left would be taken for that of the copy
		if _, err := os.Lstat(name); err == nil {
			return book.Checkpoint{}, fmt.Errorf("%w: %s holds a history already: move %s away first, or choose another folder", ErrCopy, dir,
				filepath.Base(name))
		}
	}
	backup, err := openAny(from, Options{})
	if err != nil {
		return book.Checkpoint{}, err
	}
	defer backup.Close()
	if report, err := VerifyCopy(ctx, from); err != nil || report.Err() != nil {
		return report.Last, fmt.Errorf("the backup %s is not good, so nothing was restored: %w", from, errors.Join(err, report.Err()))
	}
	_, there := os.Stat(dir)
	lock, err := lockFolder(dir)
	if err != nil {
		return book.Checkpoint{}, err
	}
	defer func() {
		err = errors.Join(err, lock.Close())
		if err != nil && errors.Is(there, os.ErrNotExist) {
			err = errors.Join(err, os.RemoveAll(dir)) // nothing else is in it
		}
	}()
	if err := backup.copyTo(ctx, path); err != nil {
		return book.Checkpoint{}, err
	}
	return verifyCopy(ctx, path)
}

// vacuumInto copies the database to a new file, which appears under its name only
// when it is whole, marked as a copy and on disk.
func vacuumInto(ctx context.Context, db *sql.DB, path string) error {
	if _, err := os.Lstat(path); err == nil {
		return fmt.Errorf("%w: %s is already there: choose another name", ErrCopy, path)
	}
	half := path + ".part"
	if err := os.Remove(half); err != nil && !errors.Is(err, os.ErrNotExist) {
		return explain(err, ErrCopy, half)
	}
	_, err := db.ExecContext(ctx, "VACUUM INTO ?", half)
	if err == nil {
		err = markAsCopy(ctx, half)
	}
	if err == nil {
		err = disk.InPlace(half, path)
	}
	if err != nil {
		return errors.Join(explainCopy(err, path), os.RemoveAll(half))
	}
	return nil
}

// explainCopy is explain for a file that nobody goes on writing.
func explainCopy(err error, path string) error {
	if resultCode(err) == codeFull || disk.Full(err) {
		return fmt.Errorf("%w: %s: the disk is full: free some space, or choose another place (%w)", ErrCopy, path, err)
	}
	return explain(err, ErrCopy, path)
}

// markAsCopy lets the first start on a copy know that it is one.
func markAsCopy(ctx context.Context, path string) error {
	path, err := filepath.Abs(path)
	if err != nil {
		return err
	}
	db, err := sql.Open("sqlite", dataSource(path))
	if err != nil {
		return err
	}
	_, err = db.ExecContext(ctx, fmt.Sprintf("PRAGMA application_id = %d", copyID))
	return errors.Join(err, db.Close())
}

// resume stores the time since the last sign of life as gaps, and says in the book
// when the file is a copy that was put in the place of the history.
func (w *writer) resume() error {
	var id int64
	if err := w.row("SELECT application_id FROM pragma_application_id").Scan(&id); err != nil {
		return err
	}
	if id != copyID {
		return w.machineWasOff(CauseMachineOff)
	}
	if err := w.machineWasOff(CauseNotInBackup); err != nil {
		return err
	}
	if _, err := w.record(Entry{Kind: KindRestored, Content: encode(copied{w.state.last.Number, w.state.last.Hash})}); err != nil {
		return err
	}
	return w.exec(fmt.Sprintf("PRAGMA application_id = %d", applicationID))
}

// copied is the last record that came with a copy.
type copied struct {
	Number uint64 `json:"number"`
	Hash   string `json:"hash"`
}
