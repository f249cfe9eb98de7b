package main

import (
	"context"
	"errors"
	"fmt"
	"io"
	"path/filepath"

	"wetside/daemon/audit"
	"wetside/daemon/config"
	"wetside/daemon/history"
	"wetside/dashboard/locale"
	"wetside/sensors"
	"wetside/sensors/quantity/phrase"
)

type reportCmd struct {
	Data string `required:"" placeholder:"DIR" help:"The folder that keeps the history."`
	Out  string `required:"" placeholder:"DIR" help:"The new folder for the report."`
	spanFlags
	Config string `placeholder:"FILE" help:"A configuration for a book that holds no settings."`
}

// Run gathers the report and writes it.
func (c *reportCmd) Run(ctx context.Context, out io.Writer) error {
	clock := sensors.NewSystemClock(1)
	q, err := c.question(ctx)
	if err != nil {
		return err
	}
	q.Now, q.Version = clock.Now().Wall, version()
	if q.To.IsZero() {
		q.To = q.Now
	}
	if err := q.Check(); err != nil {
		return usageError{err}
	}
	book, err := history.OpenReader(ctx, history.Options{Dir: c.Data, Clock: clock, Zone: q.Zone})
	if err != nil {
		return err
	}
	data, err := audit.Gather(ctx, book, q)
	if err == nil {
		if s, speaks := out.(speaking); speaks && s.units != (locale.Units{}) {
			data.By = s.units
		}
		err = audit.WriteFolder(ctx, book, data, c.Out)
	}
	if err := errors.Join(err, book.Close()); err != nil {
		return err
	}
	lines := []phrase.Sentence{phrase.Say("%s and %s. The report is %s.", several(len(data.Sessions), "session"),
		several(data.Book.Records, "record"), filepath.Join(c.Out, "report.pdf"))}
	if !data.Book.Holds {
		lines = append(lines, phrase.Say("The record book fails verification: %s", data.Book.Problem))
	}
	return writeSentences(out, append(lines, data.NotMeasured...))
}

// question is what the command line asks for.
func (c *reportCmd) question(ctx context.Context) (audit.Question, error) {
	var q audit.Question
	if c.From == "" {
		return q, unusable("--from is missing: say from when, such as --from 2026-09-01")
	}
	zone, err := audit.Zone(ctx, c.Data)
	if err != nil {
		return q, err
	}
	if c.Config != "" {
		site, err := config.Load(c.Config)
		if err != nil {
			return q, usageError{err}
		}
		fallback := site.Settings()
		q.Fallback = &fallback
	}
	s, err := c.read(zone)
	q.From, q.To, q.Zone = s.from, s.to, s.zone
	return q, err
}

// several says how many there are of something.
func several(n int, what string) string {
	if n == 1 {
		return "1 " + what
	}
	return fmt.Sprintf("%d %ss", n, what)
}
