package history

import (
	"context"
	"database/sql"
	"errors"
	"fmt"
	"path/filepath"
)

// mostFree is which part of the pages of a file may be free, in percent.
const mostFree = 10

// Shrink gives the pages of a closed history that hold nothing any more back to the disk, where
// they are a good part of it: after an import, whose samples waited to be packed, and a deletion. It
// needs as much space again as the history takes; where that is not there, the history stays as it is.
func Shrink(ctx context.Context, dir string) (err error) {
	lock, err := lockFolder(dir)
	if err != nil {
		return err
	}
	path := filepath.Join(dir, FileName)
	db, err := sql.Open("sqlite", dataSource(path, "synchronous(FULL)"))
	if err != nil {
		return errors.Join(explain(err, ErrWrite, path), lock.Close())
	}
	defer func() {
		if err = errors.Join(err, db.Close()); err != nil {
			err = fmt.Errorf("the history is whole, but its file was not made smaller: %w", explainCopy(err, path))
		}
		err = errors.Join(err, lock.Close())
	}()
	var pages, free int64
	row := db.QueryRowContext(ctx, "SELECT page_count, freelist_count FROM pragma_page_count, pragma_freelist_count")
	if err := row.Scan(&pages, &free); err != nil || free*100 <= pages*mostFree {
		return err
	}
	_, err = db.ExecContext(ctx, "VACUUM")
	return err
}
