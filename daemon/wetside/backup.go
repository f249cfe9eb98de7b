package main

import (
	"context"
	"errors"
	"fmt"
	"io"

	"wetside/daemon/history"
)

type backupCmd struct {
	Data string `required:"" placeholder:"DIR" help:"The folder that keeps the history."`
	To   string `required:"" placeholder:"FILE" help:"The new file for the copy."`
}

// Help shows the command in use.
func (backupCmd) Help() string {
	return `Examples:
  wetside backup --data data --to /media/disk/wetside-2026-12-20.db

It works while wetside runs. The copy is read again after it was written, every
record and every block of samples; a copy that is not good is removed.`
}

// Run writes the copy and verifies it.
func (c *backupCmd) Run(ctx context.Context, out io.Writer) error {
	reader, err := history.OpenReader(ctx, history.Options{Dir: c.Data})
	if err != nil {
		return err
	}
	last, err := reader.Backup(ctx, c.To)
	if err := errors.Join(err, reader.Close()); err != nil {
		return err
	}
	return writeLine(out, fmt.Sprintf("%s holds everything up to record %d, and was verified. Checkpoint: %s", c.To, last.Number, last))
}

type restoreCmd struct {
	From string `required:"" placeholder:"FILE" help:"The backup."`
	Data string `required:"" placeholder:"DIR" help:"The folder for the history; it must not hold one."`
}

// Help shows the command in use.
func (restoreCmd) Help() string {
	return `Examples:
  wetside restore --from /media/disk/wetside-2026-12-20.db --data data

The backup is verified before and after. The record book says at the next start
that the history was restored, and from which record on.`
}

// Run puts the backup in place.
func (c *restoreCmd) Run(ctx context.Context, out io.Writer) error {
	last, err := history.Restore(ctx, c.From, c.Data)
	if err != nil {
		return err
	}
	return writeLine(out, fmt.Sprintf("Restored into %s up to record %d, and verified. Checkpoint: %s", c.Data, last.Number, last))
}
