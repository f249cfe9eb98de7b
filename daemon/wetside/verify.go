package main

import (
	"context"
	"errors"
	"fmt"
	"io"
	"strings"

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

It only reads, also while wetside runs. It also compares the samples, roll-ups and
gaps of every day with the sum that the book holds of them, and names the day and
the channel that differ. The number and hash that it prints are a
checkpoint: printed or mailed, it proves later that nothing up to it was changed.`
}

// Run walks the record book and compares the samples with it; an error names what does not hold.
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
	lines := []string{fmt.Sprintf("Every record holds. Checkpoint: %s", report.Last)}
	if report.Attested > 0 {
		lines = append(lines, fmt.Sprintf("The samples are what the book attests, each of %d days of a channel.", report.Attested))
	}
	if report.Waiting > 0 {
		lines = append(lines, fmt.Sprintf("%d days of a channel are not attested yet: that is done when the day is over in UTC, and at a stop.", report.Waiting))
	}
	return writeLine(out, strings.Join(lines, "\n"))
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
