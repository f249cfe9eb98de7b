package history

import (
	"bufio"
	"context"
	"database/sql"
	"fmt"
	"io"
	"strconv"
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

// RecordExport selects records to write out as a table.
type RecordExport struct {
	Query
	Form Form
}

// ExportRecordTable writes records to out as a table, for reading and counting;
// [Reader.ExportRecords] gives the form that can be verified. It streams.
func (s *Reader) ExportRecordTable(ctx context.Context, out io.Writer, e RecordExport) error {
	table := newTable(out, e.Form, "number", "kind", "utc", "local", "clock", "person", "role", "room",
		"content", "corrects", "reason", "happened_utc", "happened_local", "boot", "mono_ms", "hash")
	var cells []cell // one row's, used again for the next
	err := s.eachBody(ctx, "SELECT hash, body FROM record r ", e.Query, func(hash, body string) error {
		r, err := readBack(hash, body, "")
		if err != nil {
			return fmt.Errorf("%w: %w", ErrCorrupt, err)
		}
		cells = appendRecord(cells[:0], r)
		if err := table.write(cells); err != nil {
			return fmt.Errorf("writing record %d: %w", r.Number, err)
		}
		return nil
	})
	if err != nil {
		return err
	}
	return table.end()
}

// eachBody hands on two columns of the selected records, the second of which is the text.
func (s *Reader) eachBody(ctx context.Context, from string, q Query, each func(first, body string) error) error {
	return s.view(ctx, func(v view) error {
		where, args := q.sql()
		return v.each(from+where, func(rows *sql.Rows) error {
			var first, body string
			if err := rows.Scan(&first, &body); err != nil {
				return err
			}
			return each(first, body)
		}, args...)
	})
}

// appendRecord adds the cells of a record. Its local time has the offset that the
// place had when the record was written.
func appendRecord(list []cell, r Record) []cell {
	place := time.FixedZone("", r.OffsetSeconds)
	var corrects, happened, happenedThere cell
	if r.Corrects != 0 {
		corrects = numberCell(int64(r.Corrects))
	}
	if !r.Happened.IsZero() {
		happened, happenedThere = stamp(r.Happened.UTC()), stamp(r.Happened.In(place))
	}
	return append(list, numberCell(int64(r.Number)), wordsCell(r.Kind), stamp(r.At), stamp(r.At.In(place)), wordsCell(r.Clock),
		wordsCell(r.Person), wordsCell(r.Role), wordsCell(r.Room),
		cell{kind: document, text: string(r.Content)}, corrects, wordsCell(r.Reason), happened, happenedThere, wordsCell(r.Boot),
		numberCell(r.Mono.Milliseconds()), wordsCell(r.Hash))
}

// SampleExport selects samples to write out.
type SampleExport struct {
	Channels []sensors.ChannelID
	From, To time.Time
	Form     Form
}

// ExportSamples writes samples to out as a table, channel after channel. Times are
// given in UTC and as the place's own with its offset, values exactly. It streams,
// so the time may be of any length.
func (s *Reader) ExportSamples(ctx context.Context, out io.Writer, e SampleExport) error {
	table := newTable(out, e.Form, "channel", "unit", "utc", "local", "raw", "grade", "reason", "imported")
	for _, channel := range e.Channels {
		if err := s.exportChannel(ctx, table, channel, e); err != nil {
			return fmt.Errorf("writing the samples of %q: %w", channel, err)
		}
	}
	return table.end()
}

func (s *Reader) exportChannel(ctx context.Context, table *table, channel sensors.ChannelID, e SampleExport) error {
	var unit string
	err := s.view(ctx, func(v view) error {
		c, err := v.channel(channel)
		unit = c.unit
		return err
	})
	if err != nil {
		return err
	}
	var cells []cell // one row's, used again for the next: an evening has a million
	for sample, err := range s.Samples(ctx, channel, e.From, e.To) {
		if err != nil {
			return err
		}
		cells = append(cells[:0], wordsCell(string(sample.Channel)), wordsCell(unit), stamp(sample.At), stamp(sample.At.In(s.zone)),
			cell{kind: number, text: strconv.FormatFloat(sample.Raw, 'g', -1, 64)}, wordsCell(sample.Grade.String()),
			wordsCell(string(sample.Reason)),
			cell{kind: truth, text: strconv.FormatBool(sample.Imported)})
		if err := table.write(cells); err != nil {
			return err
		}
	}
	return nil
}
