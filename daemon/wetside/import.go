package main

import (
	"context"
	"errors"
	"fmt"
	"io"
	"iter"
	"maps"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"time"

	"wetside/daemon/audit"
	"wetside/daemon/history"
	"wetside/daemon/intake"
	"wetside/sensors"
)

type importCmd struct {
	Data     string `required:"" placeholder:"DIR" help:"The folder that keeps the history; wetside must not be running on it."`
	File     string `required:"" placeholder:"FILE" help:"The past readings, as comma-separated values with a heading."`
	By       string `required:"" placeholder:"NAME" help:"Who imports, for the record book."`
	Why      string `required:"" placeholder:"TEXT" help:"Where the readings come from, for the record book."`
	Channel  string `placeholder:"ID" help:"The channel, for a file that names none."`
	Unit     string `placeholder:"UNIT" help:"The unit, for a file that names none, such as C or m3/h."`
	Zone     string `placeholder:"NAME" help:"The zone of times without an offset; the place's own when left out."`
	Quantity string `placeholder:"NAME" help:"What channels that the history does not know measure, such as bath-temperature."`
	Room     string `placeholder:"ID" help:"The room of new channels."`
}

// Run checks the whole file and then imports it.
func (c *importCmd) Run(ctx context.Context, out io.Writer) error {
	zone, err := audit.Zone(ctx, c.Data)
	if err != nil {
		return err
	}
	s, err := spanFlags{Zone: c.Zone}.read(zone)
	if err != nil {
		return err
	}
	clock := sensors.NewSystemClock(1)
	o := history.Options{Dir: c.Data, Clock: clock, Zone: zone, Version: version()}
	i := &importing{importCmd: c, options: intake.Options{Channel: sensors.ChannelID(c.Channel), Unit: c.Unit, Zone: s.zone},
		now: clock.Now().Wall}
	if err := i.survey(ctx, o); err != nil {
		return err
	}
	store, err := history.Open(ctx, o)
	if err != nil {
		return err
	}
	record, err := store.Import(ctx, history.Import{Entry: i.entry(), Channels: i.fresh, Samples: i.samples()})
	store.Settle(ctx)
	if err := errors.Join(err, store.Close()); err != nil {
		return fmt.Errorf("nothing was imported: %w", err)
	}
	err = writeLine(out, fmt.Sprintf("Imported as record %d: %s. They are marked as imported wherever they are shown.", record.Number,
		strings.Join(i.taken(), "; ")))
	return errors.Join(err, history.Shrink(ctx, c.Data))
}

// samples gives the readings of the file as samples.
func (i *importing) samples() iter.Seq2[history.Sample, error] {
	return func(yield func(history.Sample, error) bool) {
		for r, err := range i.readings() {
			s := history.Sample{Channel: r.Channel, At: r.At, Raw: r.Value, Grade: r.Grade, Reason: r.Reason}
			if !yield(s, err) {
				return
			}
		}
	}
}

func (i *importing) readings() iter.Seq2[intake.Reading, error] {
	return func(yield func(intake.Reading, error) bool) {
		f, err := os.Open(i.File)
		if err != nil {
			yield(intake.Reading{}, fmt.Errorf("the file can't be read: %w", err))
			return
		}
		defer f.Close()
		for r, err := range intake.Read(f, i.options) {
			if err != nil {
				err = fmt.Errorf("%s: %w", i.File, err)
			}
			if !yield(r, err) {
				return
			}
		}
	}
}

// entry is what the record book is told.
func (i *importing) entry() history.Entry {
	content := history.Imported{File: filepath.Base(i.File), SHA256: i.sum}
	for _, id := range slices.Sorted(maps.Keys(i.found)) {
		content.Channels = append(content.Channels, i.found[id].ImportedChannel)
	}
	return history.Entry{Person: i.By, Room: i.Room, Reason: i.Why, Content: content.JSON()}
}

// taken says of each channel what was imported, so that a wrong zone or unit is seen.
func (i *importing) taken() (list []string) {
	for _, id := range slices.Sorted(maps.Keys(i.found)) {
		f := i.found[id]
		list = append(list, fmt.Sprintf("%s in %s, values: %d, from %s to %s", id, f.Unit, f.Samples,
			f.From.In(i.options.Zone).Format(time.RFC3339), f.To.In(i.options.Zone).Format(time.RFC3339)))
	}
	return list
}
