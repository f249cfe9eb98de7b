package history

import (
	"crypto/rand"
	"database/sql"
	"encoding/hex"
	"errors"
	"time"

	"wetside/daemon/history/book"
	"wetside/sensors"
)

// state is what the writer knows of the file, so that it need not ask. After a
// failed commit it is read anew.
type state struct {
	last     book.Checkpoint
	latest   time.Time // the latest time of any record
	clock    string
	channels map[sensors.ChannelID]int64
	words    map[sensors.Reason]uint8
	row      tailRow
}

// tailRow is the row of the tail to which the next samples are added. Without an
// id there is none.
type tailRow struct {
	id   int64
	size int
}

func (w *writer) load() error {
	w.state = state{clock: ClockUnconfirmed, channels: map[sensors.ChannelID]int64{}, words: map[sensors.Reason]uint8{}}
	return errors.Join(w.loadBook(), w.loadClock(), loadCodes(w, "SELECT id, code FROM channel", w.state.channels),
		loadCodes(w, "SELECT text, code FROM word", w.state.words))
}

func (w *writer) loadBook() (err error) {
	if w.state.last, err = w.newest(); err != nil {
		return err
	}
	if w.state.last.Number == 0 {
		w.state.last.Hash = book.First
		return nil
	}
	var latest int64
	err = w.row("SELECT max(at_ms) FROM record").Scan(&latest)
	w.state.latest = time.UnixMilli(latest)
	return err
}

// loadClock finds what this start knows of the clock.
func (w *writer) loadClock() error {
	if w.firstNumber == 0 {
		return nil
	}
	var kind string
	err := w.row("SELECT kind FROM record WHERE number > ? AND kind IN (?, ?) ORDER BY number DESC LIMIT 1",
		w.firstNumber, KindClockConfirmed, KindClockStepped).Scan(&kind)
	if errors.Is(err, sql.ErrNoRows) {
		return nil
	}
	w.noteClock(kind)
	return err
}

// noteClock changes the confidence in the clock when the record is about it.
func (w *writer) noteClock(kind string) {
	switch kind {
	case KindClockConfirmed:
		w.state.clock = ClockConfirmed
	case KindClockStepped:
		w.state.clock = ClockUnconfirmed
	}
}

// loadCodes reads which number of the file stands for which name.
func loadCodes[Name ~string, Code int64 | uint8](w *writer, query string, codes map[Name]Code) error {
	return w.each(query, func(rows *sql.Rows) error {
		var name Name
		var code Code
		err := rows.Scan(&name, &code)
		codes[name] = code
		return err
	})
}

// randomID names a book or a start: 16 hexadecimal digits.
func randomID() string {
	var b [8]byte
	rand.Read(b[:]) // never fails
	return hex.EncodeToString(b[:])
}
