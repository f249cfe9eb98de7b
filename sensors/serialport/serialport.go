// Package serialport opens real serial lines. It is the one place that knows
// the serial library, and it answers for that library's ways:
//
//   - The library ends a read by timeout with an end-of-file, and answers for a
//     vanished device in the same way, only at once. Here a timeout is not an
//     end, a row of ends that come too fast is one, and so is a device path that
//     no longer leads to the device that was opened.
//   - Its Close waits for a blocked Read or Write. Here one goroutine per line
//     alone reads and closes, with a read timeout of 200 ms; a write that is
//     stuck is left behind and counted ([Opener.StuckWrites]).
//   - It lets two programs share one port, each losing bytes to the other. Here
//     a second descriptor guards the port (advisory lock and exclusive mode). On
//     it the reader waits for bytes, so that a read finds them and blocks no thread.
//   - It has no list of ports; [List] makes one.
//
// Bytes that were waiting in the device before the line was opened are thrown
// away, since nobody knows when they came. On Windows the library keeps two
// event handles for each opening until the program ends.
package serialport

import (
	"context"
	"errors"
	"fmt"
	"io/fs"
	"slices"
	"strings"
	"sync/atomic"
	"time"

	"github.com/tarm/serial"

	"wetside/sensors"
	"wetside/sensors/quantity/phrase"
)

// ReadTimeout is how long one read of a device waits, and with it the usual
// time that closing a line takes where it can't be waited for bytes. The library
// counts in tenths of a second.
const ReadTimeout = 200 * time.Millisecond

// Opener opens serial lines of the computer. Use [New].
type Opener struct{ stuck atomic.Int64 }

// New makes an opener.
func New() *Opener { return &Opener{} }

var _ sensors.Opener = (*Opener)(nil)

// StuckWrites is the number of writes that hang in the operating system at this
// moment, each with its goroutine and its device left behind.
func (o *Opener) StuckWrites() int64 { return o.stuck.Load() }

// Open opens a line for this program alone. Its error wraps one of the errors
// of package sensors where the cause is known, and says what to do. A device
// driver that takes its time does not hold up a caller whose ctx ends.
func (o *Opener) Open(ctx context.Context, settings sensors.LineSettings) (sensors.Line, error) {
	if err := errors.Join(ctx.Err(), Check(settings)); err != nil {
		return nil, err
	}
	type outcome struct {
		line *line
		err  error
	}
	done := make(chan outcome)
	go func() {
		l, err := o.open(settings)
		select {
		case done <- outcome{l, err}:
		case <-ctx.Done():
			if err == nil {
				_ = l.Close() // nobody is left to tell
			}
		}
	}()
	select {
	case r := <-done:
		if r.err != nil {
			return nil, r.err
		}
		return r.line, nil
	case <-ctx.Done():
		return nil, ctx.Err()
	}
}

// open takes the guard first, so that a port in use is left as it is: opening
// it with the library would already change its speed for the other program.
func (o *Opener) open(s sensors.LineSettings) (*line, error) {
	g, err := takeGuard(s.Path)
	if err != nil {
		return nil, explain(s.Path, err)
	}
	port, err := serial.OpenPort(&serial.Config{
		Name:        g.device(),
		Baud:        s.Baud,
		ReadTimeout: ReadTimeout,
		Size:        byte(s.DataBits),
		Parity:      serial.Parity(s.Parity),
		StopBits:    serial.StopBits(s.StopBits),
	})
	if err != nil {
		return nil, errors.Join(explain(s.Path, err), g.release())
	}
	_ = port.Flush() // a device that can't forget old bytes is still a device
	if err := errors.Join(g.exclude(), g.check()); err != nil {
		return nil, errors.Join(explain(s.Path, err), port.Close(), g.release())
	}
	return startLine(lineParts{path: s.Path, device: port, guard: g, stuck: &o.stuck}), nil
}

// explain turns an error of opening into a sentence with the path, the kind of
// trouble and what to do. The library gives some errors without any name.
func explain(path string, err error) error {
	hint, kind := kindOf(path, err)
	var named *fs.PathError
	if errors.As(err, &named) {
		err = named.Err
	}
	if kind == nil {
		return phrase.Errorf("can't open %s: %w", path, err)
	}
	return phrase.Errorf("can't open %s: %w: %s (%w)", path, kind, hint, err)
}

// Bauds lists the speeds that can be set, slowest first.
func Bauds() []int {
	return []int{50, 75, 110, 134, 150, 200, 300, 600, 1200, 1800, 2400, 4800, 9600, 19200, 38400, 57600,
		115200, 230400, 460800, 500000, 576000, 921600, 1000000, 1152000, 1500000, 2000000, 2500000,
		3000000, 3500000, 4000000}
}

// ValidBaud says whether a speed can be set.
func ValidBaud(baud int) bool { return slices.Contains(Bauds(), baud) }

// Check says what is wrong with settings, all at once, before a device is
// touched; each error wraps [sensors.ErrUnsupported].
func Check(s sensors.LineSettings) error {
	var found []error
	if s.Path == "" || strings.ContainsRune(s.Path, 0) {
		found = append(found, phrase.Errorf("%w: device path %q: expected one like /dev/serial/by-id/... or COM3", sensors.ErrUnsupported,
			s.Path))
	}
	if !ValidBaud(s.Baud) {
		found = append(found, phrase.Errorf("%w: speed %d: expected one of %s", sensors.ErrUnsupported, s.Baud,
			strings.Trim(fmt.Sprint(Bauds()), "[]")))
	}
	if s.DataBits != 7 && s.DataBits != 8 {
		found = append(found, phrase.Errorf("%w: %d data bits: expected 7 or 8", sensors.ErrUnsupported, s.DataBits))
	}
	if s.Parity != 'N' && s.Parity != 'E' && s.Parity != 'O' {
		found = append(found, phrase.Errorf("%w: parity %q: expected N, E or O", sensors.ErrUnsupported, string(s.Parity)))
	}
	if s.StopBits != 1 && s.StopBits != 2 {
		found = append(found, phrase.Errorf("%w: %d stop bits: expected 1 or 2", sensors.ErrUnsupported, s.StopBits))
	}
	return errors.Join(found...)
}
