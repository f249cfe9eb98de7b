package history

import (
	"context"
	"errors"
	"fmt"
)

const (
	// codeSyncFailed is SQLITE_IOERR_FSYNC. Source: sqlite.org/rescode.html.
	codeSyncFailed = 1034
	// mostReading is how long readers may keep the log from being renewed, in milliseconds.
	mostReading = 200
)

// doubt notes that a sync failed. The operating system may then count what was on its
// way as written although it never arrived, and a later sync says that all is well:
// the log may have a hole, behind which nothing would be read after a power cut.
func (s *Store) doubt(err error) {
	if wholeCode(err) == codeSyncFailed {
		s.unsure.Store(true)
	}
}

// renewLog moves everything from the log into the file and begins the log anew, so
// that nothing rests on what a failed sync may have lost.
func (w *writer) renewLog() (err error) {
	if err := w.busyTimeout(mostReading); err != nil {
		return err
	}
	defer func() { err = errors.Join(err, w.busyTimeout(busyMillis)) }()
	var busy, frames, moved int
	if err := w.row("PRAGMA wal_checkpoint(TRUNCATE)").Scan(&busy, &frames, &moved); err != nil {
		return err
	}
	if busy != 0 {
		return errors.New("the disk failed and the log can't be renewed while somebody reads a report or makes a copy")
	}
	return nil
}

func (w *writer) busyTimeout(milliseconds int) error {
	_, err := w.conn.ExecContext(context.Background(), fmt.Sprintf("PRAGMA busy_timeout = %d", milliseconds))
	return err
}
