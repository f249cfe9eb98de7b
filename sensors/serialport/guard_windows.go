package serialport

import (
	"errors"
	"io/fs"
	"syscall"
	"time"

	"wetside/sensors"
	"wetside/sensors/quantity/phrase"
)

// guard has little to do on Windows: a port can be opened only once, and one
// that is unplugged fails in reading.
type guard struct{ path string }

func takeGuard(path string) (*guard, error) { return &guard{path: path}, nil }

func (g *guard) device() string { return g.path }

func (g *guard) exclude() error { return nil }

func (g *guard) check() error { return nil }

// wait leaves the waiting to the read, which ends by timeout.
func (g *guard) wait(<-chan struct{}, time.Duration) bool { return true }

func (g *guard) interrupt() {}

func (g *guard) release() error { return nil }

// kindOf sorts an error of opening, with what to do about it. Windows answers
// for a port in use with a denied access.
func kindOf(_ string, err error) (hint phrase.Sentence, kind error) {
	const errorInvalidParameter = syscall.Errno(87)
	switch {
	case errors.Is(err, fs.ErrNotExist):
		return phrase.Say("plug it in, or correct the path in the configuration"), sensors.ErrAbsent
	case errors.Is(err, fs.ErrPermission):
		return phrase.Say("end the other program that uses it"), sensors.ErrBusy
	case errors.Is(err, errorInvalidParameter):
		return phrase.Say("check the line settings"), sensors.ErrUnsupported
	}
	return hint, nil
}
