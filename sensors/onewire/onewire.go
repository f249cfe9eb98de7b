// Package onewire reads the thermometers of a 1-Wire bus by the files in which Linux shows
// them, such as /sys/bus/w1/devices/28-0316a2b4c5ff/w1_slave. Reading a file has the thermometer
// measure, which takes up to 0.75 s; they are read one after another.
package onewire

import (
	"bytes"
	"context"
	"errors"
	"io"
	"io/fs"
	"os"
	"path/filepath"
	"regexp"
	"time"

	"wetside/sensors"
	"wetside/sensors/dialect"
	"wetside/sensors/feed"
	"wetside/sensors/quantity/phrase"
)

// Folder is where Linux shows the devices of its 1-Wire buses.
const Folder = "/sys/bus/w1/devices"

// Opener opens a folder of 1-Wire devices. Its zero value is ready.
type Opener struct {
	// Every is how often each thermometer is read, where their number allows; 1 s when zero.
	Every time.Duration
}

var _ sensors.Opener = Opener{}

// Open opens the folder that the settings name; see [sensors.Opener].
func (o Opener) Open(_ context.Context, s sensors.LineSettings) (sensors.Line, error) {
	if _, err := os.ReadDir(s.Path); errors.Is(err, fs.ErrNotExist) {
		return nil, phrase.Errorf("can't open %s: %w: switch 1-Wire on in the settings of the computer", s.Path, sensors.ErrAbsent)
	} else if err != nil {
		return nil, phrase.Errorf("can't open %s: %w", s.Path, err)
	}
	every := o.Every
	if every <= 0 {
		every = time.Second
	}
	b := bus{s.Path, every}
	return feed.Start(feed.Options{Path: s.Path, Fetch: b.fetch}), nil
}

type bus struct {
	folder string
	every  time.Duration
}

// fetch reads every thermometer in its turn, again and again.
func (b bus) fetch(ctx context.Context, push func([]byte)) error {
	for {
		begun := time.Now()
		names, err := b.thermometers()
		if err != nil {
			return phrase.Errorf("%w: %w", sensors.ErrGone, err)
		}
		for _, name := range names {
			if ctx.Err() != nil {
				return ctx.Err()
			}
			push(b.read(name))
		}
		select {
		case <-ctx.Done():
			return ctx.Err()
		case <-time.After(b.every - time.Since(begun)):
		}
	}
}

// thermometers are the devices of the families that the kernel's driver w1_therm reads.
func (b bus) thermometers() (names []string, err error) {
	entries, err := os.ReadDir(b.folder)
	named := regexp.MustCompile(`^(10|22|28|3b|42)-[0-9a-f]{12}$`)
	for _, e := range entries {
		if named.MatchString(e.Name()) {
			names = append(names, e.Name())
		}
	}
	return names, err
}

// mostRead is far more than a thermometer's file holds.
const mostRead = 400

// read is the line of one thermometer.
func (b bus) read(name string) []byte {
	line := []byte(name + ": ")
	f, err := os.Open(filepath.Join(b.folder, name, "w1_slave"))
	if err != nil { // it was unplugged
		return append(line, dialect.OneWireFailed+"\n"...)
	}
	defer f.Close() // it was read alone
	text, err := io.ReadAll(io.LimitReader(f, mostRead))
	text = bytes.Join(bytes.Fields(text), []byte(" "))
	if err != nil || len(text) == 0 {
		text = []byte(dialect.OneWireFailed)
	}
	return append(append(line, text...), '\n')
}
