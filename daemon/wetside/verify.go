package main

import (
	"context"
	"errors"
	"fmt"
	"io"

	"wetside/daemon/history"
	"wetside/daemon/history/book"
)

type verifyCmd struct {
	Data       string   `required:"" placeholder:"DIR" help:"The folder that keeps the history."`
	Checkpoint []string `sep:"none" placeholder:"NUMBER:HASH" help:"A checkpoint that was kept elsewhere; may be given again."`
}

// Help shows the command in use.
func (verifyCmd) Help() string {
	return `Examples:
  wetside verify --data data
  wetside verify --data data --checkpoint 812:0b5f...e1

It only reads, also while wetside runs. The number and hash that it prints are a
checkpoint: printed or mailed, it proves later that nothing up to it was changed.`
}

// Run walks the record book; an error names the first record that does not hold.
func (c *verifyCmd) Run(ctx context.Context, out io.Writer) error {
	var kept []book.Checkpoint
	for _, text := range c.Checkpoint {
		checkpoint, err := book.ParseCheckpoint(text)
		if err != nil {
			return usageError{fmt.Errorf("--checkpoint: %w", err)}
		}
		kept = append(kept, checkpoint)
	}
	report, err := history.Verify(ctx, c.Data)
	if err != nil {
		return err
	}
	if err := errors.Join(report.Err(), holdAll(ctx, c.Data, kept)); err != nil {
		return err
	}
	for _, k := range kept {
		if err := writeLine(out, fmt.Sprintf("The checkpoint at record %d holds: nothing up to it was changed.", k.Number)); err != nil {
			return err
		}
	}
	return writeLine(out, fmt.Sprintf("Every record holds. Checkpoint: %s", report.Last))
}

// holdAll compares checkpoints with the book.
func holdAll(ctx context.Context, data string, kept []book.Checkpoint) error {
	if len(kept) == 0 {
		return nil
	}
	reader, err := history.OpenReader(ctx, history.Options{Dir: data})
	if err != nil {
		return err
	}
	errs := []error{}
	for _, k := range kept {
		errs = append(errs, reader.Holds(ctx, k))
	}
	return errors.Join(append(errs, reader.Close())...)
}
