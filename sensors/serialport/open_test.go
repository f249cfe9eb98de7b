package serialport_test

import (
	"context"
	"fmt"
	"path/filepath"
	"testing"

	"github.com/stretchr/testify/require"

	"wetside/sensors"
	"wetside/sensors/serialport"
)

func plain(path string) sensors.LineSettings {
	return sensors.LineSettings{Path: path, Baud: 9600, DataBits: 8, Parity: 'N', StopBits: 1}
}

func TestOpenRefusesWhatIsNoSerialDevice(t *testing.T) {
	dir := t.TempDir()
	for path, kind := range map[string]error{
		filepath.Join(dir, "absent"): sensors.ErrAbsent,
		dir:                          sensors.ErrUnsupported,
		"/dev/null":                  sensors.ErrUnsupported,
	} {
		l, err := serialport.New().Open(t.Context(), plain(path))
		require.ErrorIs(t, err, kind, path)
		require.ErrorContains(t, err, path)
		require.Nil(t, l)
	}
}

func TestOpenAfterTheEnd(t *testing.T) {
	ctx, cancel := context.WithCancel(t.Context())
	cancel()
	_, err := serialport.New().Open(ctx, plain(filepath.Join(t.TempDir(), "absent")))
	require.ErrorIs(t, err, context.Canceled)
}

func TestCheckNamesEverythingThatIsWrong(t *testing.T) {
	require.NoError(t, serialport.Check(plain("COM3")))
	err := serialport.Check(sensors.LineSettings{Path: "a\x00b", Baud: 250000, DataBits: 9, Parity: 'M', StopBits: 3})
	require.ErrorIs(t, err, sensors.ErrUnsupported)
	for _, words := range []string{"device path", "speed 250000", "115200", "9 data bits", `parity "M"`, "3 stop bits"} {
		require.ErrorContains(t, err, words)
	}
	_, err = serialport.New().Open(t.Context(), sensors.LineSettings{})
	require.ErrorIs(t, err, sensors.ErrUnsupported)
}

func Example() {
	settings := sensors.LineSettings{Path: "/dev/serial/by-id/none", Baud: 250000, DataBits: 8, Parity: 'N', StopBits: 1}
	fmt.Println(serialport.ValidBaud(settings.Baud))
	settings.Baud = 19200
	fmt.Println(serialport.Check(settings))
	// Output:
	// false
	// <nil>
}
