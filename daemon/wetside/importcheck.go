package main

import (
	"context"
	"crypto/sha256"
	"encoding/hex"
	"encoding/json"
	"errors"
	"fmt"
	"io"
	"math"
	"os"
	"slices"
	"strings"
	"time"

	"wetside/daemon/config"
	"wetside/daemon/history"
	"wetside/daemon/intake"
	"wetside/sensors"
	"wetside/sensors/quantity"
	"wetside/sensors/quantity/phrase"
)

// importing is a file on its way into the history. It is read twice: all of it is
// checked before anything is taken.
type importing struct {
	*importCmd
	options intake.Options
	now     time.Time
	known   []history.ChannelInfo
	sum     string // of the file: SHA-256 in hexadecimal
	found   map[sensors.ChannelID]*column
	fresh   []sensors.Channel
}

// column is what a file holds of one channel.
type column struct {
	history.ImportedChannel
	lowest float64 // that there can be, in its unit
}

// highestImported is beyond what a probe of any kind shows, in any unit.
const highestImported = 1e9

// earliestYear is before any electronic logger of readings.
const earliestYear = 1970

// survey reads the whole file and refuses what may not be imported.
func (i *importing) survey(ctx context.Context, o history.Options) error {
	for _, words := range [][2]string{{"--by", i.By}, {"--why", i.Why}} {
		if strings.TrimSpace(words[1]) == "" {
			return unusable("%s is empty: the record book must say it", words[0])
		}
	}
	reader, err := history.OpenReader(ctx, o)
	if err != nil {
		return err
	}
	err = i.check(ctx, reader)
	return errors.Join(err, reader.Close())
}

func (i *importing) check(ctx context.Context, reader *history.Reader) (err error) {
	if i.sum, err = sumOf(i.File); err != nil {
		return err
	}
	if i.known, err = reader.Channels(ctx); err != nil {
		return err
	}
	i.found = map[sensors.ChannelID]*column{}
	for r, err := range i.readings() {
		if err == nil {
			err = i.note(r)
		}
		if err != nil {
			return usageError{err}
		}
	}
	if len(i.found) == 0 {
		return unusable("%s has no readings: there is nothing to import", i.File)
	}
	if err := i.notTwice(ctx, reader); err != nil {
		return err
	}
	return i.apart(ctx, reader)
}

// sumOf is the SHA-256 of a file.
func sumOf(name string) (string, error) {
	f, err := os.Open(name)
	if err != nil {
		return "", usageError{fmt.Errorf("the file can't be read: %w", err)}
	}
	defer f.Close()
	switch about, err := f.Stat(); {
	case err != nil:
		return "", fmt.Errorf("the file can't be read: %w", err)
	case about.IsDir():
		return "", unusable("%s is a folder: name the file with the readings", name)
	case !about.Mode().IsRegular(): // a device or a pipe may never end, and can't be read twice
		return "", unusable("%s is not a file on a disk: save the readings as one and name it", name)
	}
	hash := sha256.New()
	if _, err := io.Copy(hash, f); err != nil {
		return "", fmt.Errorf("the file can't be read: %w", err)
	}
	return hex.EncodeToString(hash.Sum(nil)), nil
}

// notTwice refuses a file whose readings a channel has already. One that went to a wrong
// channel may still go to the right one.
func (i *importing) notTwice(ctx context.Context, reader *history.Reader) error {
	for r, err := range reader.EachRecord(ctx, history.Query{Kinds: []string{history.KindImported}}) {
		if err != nil {
			return err
		}
		var before history.Imported
		if json.Unmarshal(r.Content, &before) != nil || before.SHA256 != i.sum {
			continue
		}
		for _, c := range before.Channels {
			if i.found[c.Channel] != nil {
				return fmt.Errorf("%s was imported already to %q, as record %d", i.File, c.Channel, r.Number)
			}
		}
	}
	return nil
}

// note counts a reading, or refuses it.
func (i *importing) note(r intake.Reading) error {
	if r.At.After(i.now) {
		return fmt.Errorf("%s: line %d: %s is in the future: only past readings are imported", i.File, r.Line, r.At.Format(time.RFC3339))
	}
	if r.At.Year() < earliestYear {
		return fmt.Errorf("%s: line %d: %s is before there were loggers of readings: correct the date", i.File, r.Line, r.At.Format(time.RFC3339))
	}
	f := i.found[r.Channel]
	if f == nil {
		unit, err := i.unit(r)
		if err != nil {
			return fmt.Errorf("%s: line %d: %w", i.File, r.Line, err)
		}
		f = &column{history.ImportedChannel{Channel: r.Channel, Unit: unit.String(), Written: r.Unit, From: r.At, To: r.At}, math.Inf(-1)}
		if unit.Dimension() == quantity.Temperature {
			f.lowest = unit.FromBase(float64(quantity.AbsoluteZero))
		}
		i.found[r.Channel] = f
	}
	if r.Unit != f.Written {
		return fmt.Errorf("%s: line %d: %q is in %q here and in %q before: a channel has one unit", i.File, r.Line, r.Channel, r.Unit, f.Written)
	}
	if r.Value < f.lowest {
		return fmt.Errorf("%s: line %d: %g %s lies below absolute zero: leave out the line of a missing value", i.File, r.Line, r.Value, r.Unit)
	}
	if math.Abs(r.Value) > highestImported {
		return fmt.Errorf("%s: line %d: %g %s is more than any probe shows: leave out the line of a missing value", i.File, r.Line, r.Value,
			r.Unit)
	}
	f.Samples++
	if r.At.Before(f.From) {
		f.From = r.At
	}
	if r.At.After(f.To) {
		f.To = r.At
	}
	return nil
}

// unit is the unit of the channel of a reading, a known one or a new one.
func (i *importing) unit(r intake.Reading) (quantity.Unit, error) {
	if r.Unit == "" {
		return quantity.Unit{}, fmt.Errorf("no unit of %q is named: name it in the file or with --unit", r.Channel)
	}
	unit, err := quantity.ParseUnit(r.Unit)
	if err != nil {
		return unit, fmt.Errorf("the unit of %q: %w: name it in the file or with --unit", r.Channel, err)
	}
	at := slices.IndexFunc(i.known, func(k history.ChannelInfo) bool { return k.ID == r.Channel })
	switch {
	case at >= 0 && i.known[at].Unit != unit.String():
		return unit, fmt.Errorf("%q is kept in %s and the file has %s: raw values are never converted; import it as a channel of its own",
			r.Channel, i.known[at].Unit, unit)
	case at >= 0:
		return unit, nil
	case i.Quantity == "" || i.Room == "":
		return unit, fmt.Errorf("the history knows no channel %q among %s: correct its name, or say what a new one measures with --quantity "+
			"and --room", r.Channel, i.channels())
	}
	for _, name := range []string{string(r.Channel), i.Room} {
		if !config.IsIdentifier(name) {
			return unit, fmt.Errorf("%q is not usable as the name of a new channel or its room: expected small letters, digits and hyphens, at "+
				"most 40", name)
		}
	}
	kind, err := sensors.ParseKind(i.Quantity)
	if err != nil {
		return unit, fmt.Errorf("--quantity: %w", err)
	}
	traits, _ := kind.Traits()
	if traits.Dimension != unit.Dimension() {
		return unit, fmt.Errorf("%s is not a unit of %s: expected one of %s", unit, kind,
			phrase.Listed(quantity.UnitsOf(traits.Dimension)))
	}
	i.fresh = append(i.fresh, sensors.Channel{ID: r.Channel, Name: string(r.Channel), Kind: kind, Unit: unit, Traits: traits})
	return unit, nil
}

// channels lists what the history knows.
func (i *importing) channels() string {
	names := make([]string, len(i.known))
	for at, k := range i.known {
		names[at] = string(k.ID)
	}
	return strings.Join(names, ", ")
}

// apart refuses readings of a time at which the probe itself was recorded.
func (i *importing) apart(ctx context.Context, reader *history.Reader) error {
	recorded := map[sensors.ChannelID][]history.Run{}
	for _, k := range i.known {
		f := i.found[k.ID]
		if f == nil {
			continue
		}
		for run, err := range reader.Runs(ctx, history.RunQuery{Channel: k.ID, From: f.From.Add(-k.Silence), To: f.To.Add(k.Silence),
			Pause: k.Silence}) {
			if err != nil {
				return err
			}
			if !run.Imported {
				recorded[k.ID] = append(recorded[k.ID], run)
			}
		}
	}
	if len(recorded) == 0 {
		return nil
	}
	for r, err := range i.readings() {
		if err != nil {
			return err
		}
		runs := recorded[r.Channel]
		at, _ := slices.BinarySearchFunc(runs, r.At, func(run history.Run, at time.Time) int { return run.Last.Compare(at) })
		if at < len(runs) && !r.At.Before(runs[at].First) {
			return unusable("%s: line %d: the probe of %q itself was recorded at %s: leave such lines out", i.File, r.Line, r.Channel,
				r.At.Format(time.RFC3339))
		}
	}
	return nil
}
