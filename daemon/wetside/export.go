package main

import (
	"context"
	"errors"
	"fmt"
	"io"
	"io/fs"
	"os"
	"slices"
	"time"

	"wetside/daemon/audit"
	"wetside/daemon/history"
	"wetside/daemon/history/disk"
	"wetside/sensors"
)

type exportCmd struct {
	Data string `required:"" placeholder:"DIR" help:"The folder that keeps the history."`
	spanFlags
	Records string   `placeholder:"FILE" help:"Write the records of that time to this file; - is the standard output."`
	Samples string   `placeholder:"FILE" help:"Write the samples of that time to this file; - is the standard output."`
	Book    string   `placeholder:"FILE" help:"Write the whole record book in the form that can be verified."`
	Channel []string `sep:"none" placeholder:"ID" help:"Samples of this channel only; may be given again."`
	Format  string   `enum:"csv,jsonl" default:"csv" help:"How to write records and samples: csv or jsonl (a JSON object a line)."`
}

// Run writes what was asked for.
func (c *exportCmd) Run(ctx context.Context, out io.Writer) error {
	if c.Records == "" && c.Samples == "" && c.Book == "" {
		return unusable("there is nothing to export: name a file with --records, --samples or --book")
	}
	zone, err := audit.Zone(ctx, c.Data)
	if err != nil {
		return err
	}
	s, err := c.read(zone)
	if err != nil {
		return err
	}
	reader, err := history.OpenReader(ctx, history.Options{Dir: c.Data, Clock: sensors.NewSystemClock(1), Zone: s.zone})
	if err != nil {
		return err
	}
	return errors.Join(c.write(ctx, exporting{reader, s, out}), reader.Close())
}

// exporting is what an export reads, of which time, and the standard output.
type exporting struct {
	reader *history.Reader
	span   span
	out    io.Writer
}

func (c *exportCmd) write(ctx context.Context, e exporting) error {
	form := history.Form(c.Format)
	err := into(c.Book, e.out, func(w io.Writer) error { return e.reader.ExportRecords(ctx, w) })
	if err != nil {
		return err
	}
	err = into(c.Records, e.out, func(w io.Writer) error {
		return e.reader.ExportRecordTable(ctx, w, history.RecordExport{Query: history.Query{From: e.span.from, To: e.span.to}, Form: form})
	})
	if err != nil || c.Samples == "" {
		return err
	}
	channels, err := c.channels(ctx, e.reader)
	if err != nil {
		return err
	}
	whole := history.SampleExport{Channels: channels, From: e.span.from, To: e.span.to, Form: form}
	if whole.To.IsZero() {
		whole.To = time.Date(9999, 12, 31, 0, 0, 0, 0, time.UTC)
	}
	return into(c.Samples, e.out, func(w io.Writer) error { return e.reader.ExportSamples(ctx, w, whole) })
}

// channels are those asked for, or all that were ever recorded.
func (c *exportCmd) channels(ctx context.Context, reader *history.Reader) ([]sensors.ChannelID, error) {
	known, err := reader.Channels(ctx)
	if err != nil {
		return nil, err
	}
	var ids []sensors.ChannelID
	for _, k := range known {
		ids = append(ids, k.ID)
	}
	if len(c.Channel) == 0 {
		return ids, nil
	}
	var wanted []sensors.ChannelID
	for _, id := range c.Channel {
		if !slices.Contains(ids, sensors.ChannelID(id)) {
			return nil, unusable("--channel %q was never recorded here: expected some of %v", id, ids)
		}
		wanted = append(wanted, sensors.ChannelID(id))
	}
	return wanted, nil
}

// into writes to a new file, or to the standard output. The file has its name only when
// it is whole and on disk; what could not be written as a whole is removed. An empty
// name writes nothing.
func into(name string, out io.Writer, write func(io.Writer) error) error {
	switch name {
	case "":
		return nil
	case "-":
		return write(out)
	}
	if _, err := os.Lstat(name); err == nil {
		return fmt.Errorf("%s is already there: choose another name", name)
	}
	err := disk.WriteWhole(name, 0o640, write)
	if errors.Is(err, fs.ErrNotExist) {
		return fmt.Errorf("the file can't be made: %w", err)
	}
	if err != nil {
		return fmt.Errorf("%s could not be written; the unfinished file was removed: %w", name, disk.Told(err))
	}
	return nil
}
