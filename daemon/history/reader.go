package history

import (
	"context"
	"database/sql"
	"errors"
	"fmt"
	"os"
	"path/filepath"
	"time"

	"wetside/sensors"
)

// Reader reads a history, also one that another process is writing. Its methods
// may be called from any goroutine.
type Reader struct {
	path  string
	clock sensors.Clock
	zone  *time.Location
	read  *sql.DB
	// elsewhere shows a history that is kept in another database; nil for a file.
	elsewhere func(context.Context) (Moment, error)
}

// Moment shows a history as it was at one moment until Rollback: the tables record, channel,
// word, tail, block, day and gap with the columns of a file. It takes values in the place of
// question marks. [*sql.Tx] is one.
type Moment interface {
	querier
	PrepareContext(ctx context.Context, query string) (*sql.Stmt, error)
	Rollback() error
}

// ReadFrom reads a history that is kept in another database than a file of its own. What it
// reads there is as true as that database is: [Reader.VerifyBook] holds for it as well.
func ReadFrom(begin func(context.Context) (Moment, error), o Options) *Reader {
	return &Reader{clock: o.Clock, zone: o.Zone, elsewhere: begin}
}

func (s *Reader) moment(ctx context.Context) (Moment, error) {
	if s.elsewhere != nil {
		return s.elsewhere(ctx)
	}
	tx, err := s.read.BeginTx(ctx, &sql.TxOptions{ReadOnly: true})
	return tx, explain(err, ErrRead, s.path)
}

// OpenReader opens the history in o.Dir to read it. It takes no lock and records
// nothing. A folder without a history is an ErrRead, a newer file an ErrNewer.
func OpenReader(ctx context.Context, o Options) (*Reader, error) {
	if about, err := os.Stat(o.Dir); err == nil && !about.IsDir() {
		return nil, fmt.Errorf("%w: %s is a file: name the folder in which wetside keeps its data", ErrRead, o.Dir)
	}
	s, err := openFile(ctx, filepath.Join(o.Dir, FileName), o)
	if errors.Is(err, os.ErrNotExist) {
		err = fmt.Errorf("%w: name the folder in which wetside keeps its data", err)
	}
	return s, err
}

func openFile(ctx context.Context, path string, o Options) (*Reader, error) {
	s, err := openAny(path, o)
	if err != nil {
		return nil, err
	}
	if err := s.known(ctx); err != nil {
		return nil, errors.Join(err, s.Close())
	}
	return s, nil
}

// openAny opens a file of any name and any form, so that it can be copied.
func openAny(path string, o Options) (*Reader, error) {
	path, err := filepath.Abs(path)
	if err != nil {
		return nil, fmt.Errorf("finding the history: %w", err)
	}
	if _, err := os.Stat(path); err != nil {
		return nil, fmt.Errorf("%w: there is no history: %w", ErrRead, err)
	}
	s := &Reader{path: path, clock: o.Clock, zone: o.Zone}
	if s.read, err = openReader(path); err != nil {
		return nil, explain(err, ErrRead, path)
	}
	return s, nil
}

// known refuses a file that is not a history, or one of a newer form.
func (s *Reader) known(ctx context.Context) error {
	steps, err := migrations()
	if err != nil {
		return err
	}
	have, err := writtenForm(ctx, s.read, s.path, len(steps))
	if err == nil && have < len(steps) {
		err = fmt.Errorf("%w: %s has form %d and this wetside reads form %d: start wetside on it once, which brings it to that form",
			ErrRead, s.path, have, len(steps))
	}
	return err
}

// Folder is where the file of the history lies; empty for another database.
func (s *Reader) Folder() string {
	if s.elsewhere != nil {
		return ""
	}
	return filepath.Dir(s.path)
}

// Close ends the reading of a file; another database belongs to whoever opened it.
func (s *Reader) Close() error {
	if s.read == nil {
		return nil
	}
	return s.read.Close()
}

// ChannelInfo is what the history knows of a channel, in service or not.
type ChannelInfo struct {
	ID   sensors.ChannelID
	Room string
	Name string
	Kind sensors.Kind
	// Unit is the unit in which the probe sends and all raw values are kept.
	Unit string
	// Silence is how long the channel may go without a sample.
	Silence time.Duration
	// InService is false once the channel has left the configuration.
	InService bool
}

// Channels lists every channel that was ever recorded, in the order in which they came.
func (s *Reader) Channels(ctx context.Context) ([]ChannelInfo, error) {
	var list []ChannelInfo
	err := s.view(ctx, func(v view) error {
		const all = "SELECT id, room, name, kind, unit, silence_ms, in_service FROM channel ORDER BY code"
		return v.each(all, func(rows *sql.Rows) error {
			var c ChannelInfo
			var silence int64
			err := rows.Scan(&c.ID, &c.Room, &c.Name, &c.Kind, &c.Unit, &silence, &c.InService)
			c.Silence = time.Duration(silence) * time.Millisecond
			list = append(list, c)
			return err
		})
	})
	return list, err
}
