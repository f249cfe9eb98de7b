//go:build unix

package serialport

import (
	"errors"
	"io/fs"
	"os"
	"path/filepath"
	"syscall"
	"testing"

	"github.com/stretchr/testify/require"

	"wetside/sensors"
)

func TestErrorsSayWhatToDo(t *testing.T) {
	device := filepath.Join(t.TempDir(), "usb-probe")
	require.NoError(t, os.WriteFile(device, nil, 0o600))
	for _, c := range []struct {
		cause error
		kind  error
		hint  string
	}{
		{syscall.ENOENT, sensors.ErrAbsent, "plug it in"},
		{syscall.ENXIO, sensors.ErrAbsent, "plug it in"},
		{syscall.EACCES, sensors.ErrForbidden, "add the user that runs this program to the group"},
		{syscall.EBUSY, sensors.ErrBusy, "end the other program"},
		{syscall.EWOULDBLOCK, sensors.ErrBusy, "end the other program"},
		{syscall.ENOTTY, sensors.ErrUnsupported, "expected a serial device"},
		{syscall.EIO, sensors.ErrGone, "plug it in again"},
	} {
		for _, err := range []error{c.cause, &fs.PathError{Op: "open", Path: device, Err: c.cause}} {
			explained := explain(device, err)
			require.ErrorIs(t, explained, c.kind)
			require.ErrorIs(t, explained, c.cause)
			require.ErrorContains(t, explained, device)
			require.ErrorContains(t, explained, c.hint)
		}
	}
	other := errors.New("odd")
	require.ErrorIs(t, explain(device, other), other)
}

func TestOwnersOfAnUnknownDevice(t *testing.T) {
	require.Equal(t, "the group that owns the device", owners(filepath.Join(t.TempDir(), "none")).String())
}

func TestListNamesEachDeviceOnceByItsBestName(t *testing.T) {
	dev := t.TempDir()
	at := func(name string) string { return filepath.Join(dev, name) }
	for _, dir := range []string{"serial/by-id", "serial/by-path"} {
		require.NoError(t, os.MkdirAll(at(dir), 0o700))
	}
	for _, node := range []string{"ttyUSB0", "ttyUSB1", "ttyACM0", "tty1"} {
		require.NoError(t, os.WriteFile(at(node), nil, 0o600))
	}
	require.NoError(t, os.Symlink(at("ttyUSB0"), at("serial/by-id/usb-adapter-0001")))
	require.NoError(t, os.Symlink(at("ttyUSB0"), at("serial/by-path/pci-usb-1")))
	require.NoError(t, os.Symlink(at("ttyUSB1"), at("serial/by-path/pci-usb-2")))
	require.NoError(t, os.Symlink(at("gone"), at("serial/by-path/pci-usb-3")))
	require.Equal(t, []string{at("serial/by-id/usb-adapter-0001"), at("serial/by-path/pci-usb-2"), at("ttyACM0")}, list(dev))
}
