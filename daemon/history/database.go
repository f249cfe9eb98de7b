package history

import (
	"context"
	"database/sql"
	"fmt"
	"net/url"
	"os"
	"path/filepath"
	"slices"
	"strings"
)

// FileName is the one file of a history, within its folder.
const FileName = "wetside.db"

// applicationID marks the file as ours in its header: "wets".
const applicationID = 0x77657473

// copyID marks a copy, such as a backup, until a start says in the book that it was put in
// the place of the history: "wetc".
const copyID = 0x77657463

// oldestSQLite is the first version without the fault in resetting the write-ahead
// log that could damage a file when a checkpoint raced a writer. Source: sqlite.org/wal.html.
const oldestSQLite = "3.51.3"

// busyMillis is how long a connection waits for another one, in milliseconds.
const busyMillis = 5000

// keptLogBytes is how much of the log stays when it begins anew. Over what is there a commit waits for its own
// bytes alone; beyond it also for the growth of the file, by which the keeper sees that it is time to move the log.
const keptLogBytes = checkpointBytes / 8 * 7

// dataSource names the file for the driver; every pragma is set on each connection. None
// makes a file: an empty one, in the place of a history that was moved away while the
// program runs, would have the engine delete the log that belongs to the history.
func dataSource(path string, pragmas ...string) string {
	slashed := filepath.ToSlash(path)
	if !strings.HasPrefix(slashed, "/") {
		slashed = "/" + slashed
	}
	query := url.Values{"mode": {"rw"}, "_pragma": append([]string{fmt.Sprintf("busy_timeout(%d)", busyMillis), "wal_autocheckpoint(0)",
		"mmap_size(0)", fmt.Sprintf("journal_size_limit(%d)", keptLogBytes)}, pragmas...)}
	return (&url.URL{Scheme: "file", Path: slashed, RawQuery: query.Encode()}).String()
}

// openWriter opens the connections that may change the file: one for samples and
// records, one that only moves the log into the file.
func openWriter(path string) (*sql.DB, error) {
	made, err := os.OpenFile(path, os.O_RDWR|os.O_CREATE, 0o644)
	if err != nil {
		return nil, err
	}
	if err := made.Close(); err != nil {
		return nil, err
	}
	db, err := sql.Open("sqlite", dataSource(path, "journal_mode(WAL)", "synchronous(FULL)", "foreign_keys(1)"))
	if err != nil {
		return nil, err
	}
	db.SetMaxOpenConns(2)
	return db, nil
}

// readers is how many can read at a time.
const readers = 4

// openReader opens connections that can't change the file.
func openReader(path string) (*sql.DB, error) {
	db, err := sql.Open("sqlite", dataSource(path, "query_only(1)"))
	if err != nil {
		return nil, err
	}
	db.SetMaxOpenConns(readers)
	db.SetMaxIdleConns(readers)
	return db, nil
}

// checkFile looks at what costs nothing on a file of any size: the version of the
// database engine, that the file is ours, and that it is not cut short.
func checkFile(ctx context.Context, db *sql.DB, path string) error {
	var version string
	if err := db.QueryRowContext(ctx, "SELECT sqlite_version()").Scan(&version); err != nil {
		return explain(err, ErrCorrupt, path)
	}
	if versionLess(version, oldestSQLite) {
		return fmt.Errorf("%w: SQLite %s has a known fault: build wetside with %s or later", ErrCorrupt, version, oldestSQLite)
	}
	var id, pages, pageSize, tables int64
	row := db.QueryRowContext(ctx, `SELECT application_id, page_count, page_size, (SELECT count(*) FROM sqlite_schema)
		FROM pragma_application_id, pragma_page_count, pragma_page_size`)
	if err := row.Scan(&id, &pages, &pageSize, &tables); err != nil {
		return explain(err, ErrCorrupt, path)
	}
	if tables > 0 && id != applicationID && id != copyID {
		return fmt.Errorf("%w: %s is a database of another program: move it away or choose another data folder", ErrCorrupt, path)
	}
	if _, err := db.ExecContext(ctx, "PRAGMA wal_checkpoint(TRUNCATE)"); err != nil {
		return explain(err, ErrWrite, path)
	}
	if info, err := os.Stat(path); err == nil && info.Size() < pages*pageSize && tables > 0 {
		return fmt.Errorf("%w: %s has %d bytes and should have %d: it was cut short; %s", ErrCorrupt, path, info.Size(), pages*pageSize,
			remedy(path))
	}
	return nil
}

// versionLess compares dotted version numbers, such as 3.51.3 and 3.9.0.
func versionLess(a, b string) bool {
	var x, y [3]int
	_, _ = fmt.Sscanf(a, "%d.%d.%d", &x[0], &x[1], &x[2])
	_, _ = fmt.Sscanf(b, "%d.%d.%d", &y[0], &y[1], &y[2])
	return slices.Compare(x[:], y[:]) < 0
}
