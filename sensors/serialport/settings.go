package serialport

import (
	"errors"
	"fmt"
	"slices"
	"strings"

	"wetside/sensors"
	"wetside/sensors/quantity/phrase"
)

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
