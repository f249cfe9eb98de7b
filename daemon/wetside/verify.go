package main

import (
	"context"
	"fmt"
	"io"

	"wetside/daemon/history"
)

type verifyCmd struct {
	Data string `required:"" placeholder:"DIR" help:"The folder that keeps the history."`
}

// Help shows the command in use.
func (verifyCmd) Help() string {
	return `Examples:
  wetside verify --data data

It only reads, also while wetside runs. The number and hash that it prints are a
checkpoint: kept elsewhere, they prove that nothing before them was changed.`
}

// Run walks the record book; an error names the first record that does not hold.
func (c *verifyCmd) Run(ctx context.Context, out io.Writer) error {
	report, err := history.Verify(ctx, c.Data)
	if err != nil {
		return err
	}
	if err := report.Err(); err != nil {
		return err
	}
	return writeLine(out, fmt.Sprintf("Every record holds. Checkpoint: record %d, hash %s", report.Last.Number, report.Last.Hash))
}
