// Package hidport opens USB meters that speak by reports of a human interface device, under
// Linux: /dev/hidraw0 and the like. A meter says nothing until it was given a key; the one
// given here is of zeros.
package hidport

import (
	"context"
	"errors"
	"io/fs"
	"os"

	"wetside/sensors"
	"wetside/sensors/feed"
	"wetside/sensors/quantity/phrase"
)

// longestReport is more than a meter sends at a time.
const longestReport = 64

// Opener opens meters. Its zero value is ready.
type Opener struct {
	// Wake takes the place of giving the key when not nil.
	Wake func(*os.File) error
}

var _ sensors.Opener = Opener{}

// Open opens the device that the settings name; see [sensors.Opener].
func (o Opener) Open(ctx context.Context, s sensors.LineSettings) (sensors.Line, error) {
	if ctx.Err() != nil {
		return nil, ctx.Err()
	}
	f, err := os.OpenFile(s.Path, os.O_RDWR, 0)
	switch {
	case errors.Is(err, fs.ErrNotExist):
		return nil, phrase.Errorf("can't open %s: %w: check that the meter is plugged in", s.Path, sensors.ErrAbsent)
	case errors.Is(err, fs.ErrPermission):
		return nil, phrase.Errorf("can't open %s: %w: let the user of wetside use the device, by the rules of udev", s.Path, sensors.ErrForbidden)
	case err != nil:
		return nil, phrase.Errorf("can't open %s: %w", s.Path, err)
	}
	if o.Wake == nil {
		o.Wake = giveKey
	}
	if err := o.Wake(f); err != nil {
		_ = f.Close() // the first cause is told
		return nil, phrase.Errorf("can't open %s: %w: is this a CO2 meter? (%w)", s.Path, sensors.ErrUnsupported, err)
	}
	return feed.Start(feed.Options{Path: s.Path, Fetch: reports(f), Free: f.Close}), nil
}

// reports hands on what each reading of the device gives: one report.
func reports(f *os.File) func(context.Context, func([]byte)) error {
	return func(_ context.Context, push func([]byte)) error {
		buffer := make([]byte, longestReport)
		for {
			n, err := f.Read(buffer)
			if err != nil {
				return phrase.Errorf("%w: %w", sensors.ErrGone, err)
			}
			push(append(make([]byte, 0, n), buffer[:n]...))
		}
	}
}
