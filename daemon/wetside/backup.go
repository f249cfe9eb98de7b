package main

import (
	"context"
	"errors"
	"fmt"
	"io"
	"path/filepath"
	"strings"

	"wetside/daemon/history"
	"wetside/daemon/history/book"
)

type backupCmd struct {
	Data string `required:"" placeholder:"DIR" help:"The folder that keeps the history."`
	To   string `required:"" placeholder:"FILE" help:"The new file for the backup."`
}

// Run writes the copy, verifies it, and compares the older ones with the book.
func (c *backupCmd) Run(ctx context.Context, out io.Writer) (err error) {
	reader, err := history.OpenReader(ctx, history.Options{Dir: c.Data})
	if err != nil {
		return err
	}
	defer func() { err = errors.Join(err, reader.Close()) }()
	last, err := reader.Backup(ctx, c.To)
	if err != nil {
		return err
	}
	lines, apart := c.compare(ctx, reader)
	lines = append([]string{fmt.Sprintf("%s holds everything up to record %d, and was verified. Checkpoint: %s", c.To, last.Number, last)},
		lines...)
	return errors.Join(apart, writeLine(out, strings.Join(lines, "\n")))
}

// compare holds the older copies in the folder of the new one against the record book. The error
// names those that are no beginning of it.
func (c *backupCmd) compare(ctx context.Context, reader *history.Reader) (lines []string, apart error) {
	older, err := filepath.Glob(filepath.Join(filepath.Dir(c.To), "*"+filepath.Ext(c.To)))
	if err != nil {
		return []string{fmt.Sprintf("No older backup was compared: %v", err)}, nil
	}
	for _, file := range older {
		if name := filepath.Base(file); name == filepath.Base(c.To) || name == history.FileName {
			continue
		}
		last, err := reader.CopyWithin(ctx, file)
		broken, is := errors.AsType[*book.Broken](err)
		switch {
		case is:
			apart = errors.Join(apart, fmt.Errorf("the record book no longer agrees with the older backup %s at record %d: %s. Keep that backup: "+
				"if it is of this place and nobody restored an older backup since, somebody changed or removed records. Backups of another "+
				"place belong into another folder", file, last.Number, broken.Why))
		case err != nil:
			lines = append(lines, fmt.Sprintf("%s was not compared: %v", file, err))
		default:
			lines = append(lines, fmt.Sprintf("The record book continues the older backup %s, up to record %d.", file, last.Number))
		}
	}
	return lines, apart
}

type restoreCmd struct {
	From string `required:"" placeholder:"FILE" help:"The backup."`
	Data string `required:"" placeholder:"DIR" help:"The folder for the history; it must not hold one."`
}

// Run puts the backup in place.
func (c *restoreCmd) Run(ctx context.Context, out io.Writer) error {
	last, err := history.Restore(ctx, c.From, c.Data)
	if err != nil {
		return err
	}
	return writeLine(out, fmt.Sprintf("Restored into %s up to record %d, and verified. Checkpoint: %s", c.Data, last.Number, last))
}
