package history

import (
	"context"
	"database/sql"
	"errors"
	"fmt"
	"os"
	"path/filepath"
)

// Backup writes a copy of the whole history to a new file, while the program
// runs, and checks the copy: its pages, and every record of its book. A file that
// is already there is left alone.
func (s *Store) Backup(ctx context.Context, path string) error {
	if err := vacuumInto(ctx, s.write, path); err != nil {
		return err
	}
	report, err := verifyFile(ctx, path)
	if err == nil {
		err = report.Err()
	}
	if err != nil {
		return errors.Join(fmt.Errorf("the backup %s is not good, so it was removed: %w", path, err), os.Remove(path))
	}
	return nil
}

// vacuumInto copies the database to a new file, which appears under its name only
// when it is whole and on disk.
func vacuumInto(ctx context.Context, db *sql.DB, path string) error {
	if _, err := os.Lstat(path); err == nil {
		return fmt.Errorf("%w: %s is already there: choose another name", ErrWrite, path)
	}
	half := path + ".part"
	if err := os.Remove(half); err != nil && !errors.Is(err, os.ErrNotExist) {
		return explain(err, ErrWrite, half)
	}
	if _, err := db.ExecContext(ctx, "VACUUM INTO ?", half); err != nil {
		return errors.Join(explain(err, ErrWrite, path), os.RemoveAll(half))
	}
	return explain(errors.Join(syncFile(half), os.Rename(half, path), syncFile(filepath.Dir(path))), ErrWrite, path)
}
