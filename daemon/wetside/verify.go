package main

import (
	"context"
	"crypto/x509"
	"errors"
	"fmt"
	"io"
	"path/filepath"
	"strings"
	"time"

	"wetside/daemon/audit"
	"wetside/daemon/history"
	"wetside/daemon/history/book"
	"wetside/daemon/stamp"
)

type verifyCmd struct {
	Data       string   `required:"" placeholder:"DIR" help:"The folder that keeps the history."`
	Checkpoint []string `sep:"none" placeholder:"NUMBER:HASH" help:"A checkpoint that was kept elsewhere; may be given again."`
	Authority  string   `placeholder:"FILE" help:"Certificates (PEM) of the authority that signed the time stamps beside the history."`
	Backup     []string `sep:"none" placeholder:"FILE" help:"A backup that the book must continue; may be given again."`
	atCentre
}

// Run walks the record book and compares the samples with it; an error names what does not hold. What
// reports counted of past sessions goes, as no record attests it: the next report counts the samples that
// were verified.
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
	witnesses, err := c.hear(ctx, kept)
	centreSays, centreErr := c.ask(ctx, c.Data)
	witnesses = append(witnesses, centreSays...)
	if err := errors.Join(report.Err(), err, centreErr); err != nil {
		return err
	}
	lines := append(witnesses, fmt.Sprintf("Every record is verified. Checkpoint: %s", report.Last))
	if len(witnesses) == 0 {
		lines = append(lines, "No witness was given: this shows that nothing was damaged or changed in part, and can't show a book that was "+
			"rewritten as a whole.")
	}
	if report.Attested > 0 {
		lines = append(lines, fmt.Sprintf("The samples are what the book attests. Days checked, counted for each channel: %d.", report.Attested))
	}
	if report.Waiting > 0 {
		lines = append(lines,
			fmt.Sprintf("Days not attested yet, counted for each channel: %d. That is done when the day is over in UTC, and at a "+
				"stop; until then a damaged reading may not be noticed but in a backup.",
				report.Waiting))
	}
	if err := audit.ForgetCounted(c.Data); err != nil {
		lines = append(lines, fmt.Sprintf("What reports counted of past sessions could not be deleted: %v. It may be older than this check: "+
			"delete the files wetside.counted-* before a report is to rest on it.", err))
	}
	return writeLine(out, strings.Join(lines, "\n"))
}

// hear compares the book with each witness, and says what each proves.
func (c *verifyCmd) hear(ctx context.Context, kept []book.Checkpoint) (lines []string, err error) {
	stamps, err := c.stamps()
	if err != nil || len(kept)+len(c.Backup)+len(stamps) == 0 {
		return nil, err // without a witness a file of any form can be verified
	}
	reader, err := history.OpenReader(ctx, history.Options{Dir: c.Data})
	if err != nil {
		return nil, err
	}
	defer func() { err = errors.Join(err, reader.Close()) }()
	var errs []error
	for _, k := range kept {
		errs = append(errs, reader.Holds(ctx, k))
		lines = append(lines, fmt.Sprintf("The checkpoint at record %d holds: nothing up to it was changed since that checkpoint was taken, "+
			"if the checkpoint was kept where nobody could change it. It says nothing of later records.", k.Number))
	}
	for _, file := range c.Backup {
		held, err := history.VerifyCopy(ctx, file) // a witness that was damaged or changed is none
		if err = errors.Join(err, held.Err()); err == nil {
			err = reader.Holds(ctx, held.Last)
		}
		if err != nil {
			err = fmt.Errorf("the backup %s: %w", file, err)
		}
		errs = append(errs, err)
		lines = append(lines, fmt.Sprintf("The book continues the backup %s: nothing up to record %d was changed since that copy was made, "+
			"if that backup was kept where nobody could change it. It says nothing of later records.", file, held.Last.Number))
	}
	for _, s := range stamps {
		if err := reader.Holds(ctx, s.Checkpoint); err != nil {
			errs = append(errs, fmt.Errorf("%s: %w", s.File, err))
		}
	}
	if len(stamps) > 0 {
		lines = append(lines, c.ofStamps(stamps))
	}
	return lines, errors.Join(errs...)
}

// stamps reads the time stamps beside the history.
func (c *verifyCmd) stamps() (list []stamp.Kept, err error) {
	var roots *x509.CertPool
	if c.Authority != "" {
		if roots, err = stamp.Roots(c.Authority); err != nil {
			return nil, usageError{fmt.Errorf("--authority: %w", err)}
		}
	}
	if list, err = stamp.List(filepath.Join(c.Data, stamp.Folder), roots); err != nil {
		return nil, err
	}
	var errs []error
	for _, s := range list {
		errs = append(errs, s.Err)
	}
	return list, errors.Join(errs...)
}

// ofStamps says what the time stamps prove, and what they can't.
func (c *verifyCmd) ofStamps(list []stamp.Kept) string {
	last := list[len(list)-1]
	text := fmt.Sprintf("%d time stamps hold; the newest is of record %d, %s, by %s: nothing up to that record was changed since then. "+
		"Time stamps say nothing of later records, and whoever rewrites the book may remove them: keep copies elsewhere.",
		len(list), last.Checkpoint.Number, last.At.Format(time.RFC3339), last.Authority)
	if c.Authority == "" {
		text += " Who signed was not checked, so this proves little: name the authority's certificates with --authority."
	}
	return text
}
