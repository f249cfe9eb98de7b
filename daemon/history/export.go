package history

import (
	"bufio"
	"context"
	"encoding/csv"
	"fmt"
	"io"
	"strconv"
	"strings"
	"time"

	"wetside/sensors"
)

// ExportRecords writes the whole record book to out, a line a record, in the form
// that package book describes. It streams, so the book may be of any length.
func (s *Reader) ExportRecords(ctx context.Context, out io.Writer) error {
	buffered := bufio.NewWriter(out)
	for r, err := range s.EachRecord(ctx, Query{}) {
		if err != nil {
			return err
		}
		body, err := r.Body()
		if err != nil {
			return fmt.Errorf("writing record %d: %w", r.Number, err)
		}
		if _, err := fmt.Fprintf(buffered, "%s %s\n", r.Hash, body); err != nil {
			return fmt.Errorf("writing record %d: %w", r.Number, err)
		}
	}
	return buffered.Flush()
}

// SampleExport selects samples to write out.
type SampleExport struct {
	Channels []sensors.ChannelID
	From, To time.Time
}

// ExportSamples writes samples to out as comma-separated values with a heading,
// channel after channel. Times are given in UTC and as the place's own with its
// offset, values exactly. It streams, so the time may be of any length.
func (s *Reader) ExportSamples(ctx context.Context, out io.Writer, e SampleExport) error {
	table := csv.NewWriter(out)
	if err := table.Write([]string{"channel", "unit", "utc", "local", "raw", "grade", "reason"}); err != nil {
		return fmt.Errorf("writing samples: %w", err)
	}
	for _, channel := range e.Channels {
		if err := s.exportChannel(ctx, table, sampleRange{channel, e.From, e.To}); err != nil {
			return fmt.Errorf("writing the samples of %q: %w", channel, err)
		}
	}
	table.Flush()
	return table.Error()
}

// sampleRange is one channel over a time.
type sampleRange struct {
	channel  sensors.ChannelID
	from, to time.Time
}

func (s *Reader) exportChannel(ctx context.Context, table *csv.Writer, r sampleRange) error {
	unit, err := s.unit(ctx, r.channel)
	if err != nil {
		return err
	}
	for sample, err := range s.Samples(ctx, r.channel, r.from, r.to) {
		if err != nil {
			return err
		}
		if err := table.Write(s.row(sample, unit)); err != nil {
			return err
		}
	}
	return nil
}

func (s *Reader) row(sample Sample, unit string) []string {
	const form = "2006-01-02T15:04:05.000Z07:00"
	return []string{
		harmless(string(sample.Channel)), harmless(unit), sample.At.Format(form), sample.At.In(s.zone).Format(form),
		strconv.FormatFloat(sample.Raw, 'g', -1, 64), sample.Grade.String(), harmless(string(sample.Reason)),
	}
}

func (s *Reader) unit(ctx context.Context, channel sensors.ChannelID) (unit string, err error) {
	err = s.view(ctx, func(v view) error {
		c, err := v.channel(channel)
		unit = c.unit
		return err
	})
	return unit, err
}

// harmless keeps a spreadsheet from taking text for a formula.
func harmless(text string) string {
	if strings.ContainsAny(text[:min(1, len(text))], "=+-@\t\r") {
		return "'" + text
	}
	return text
}
