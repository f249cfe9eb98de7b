package hidport_test

import (
	"os"
	"path/filepath"
	"testing"
	"time"

	"github.com/stretchr/testify/require"
	"go.uber.org/goleak"
	"golang.org/x/sys/unix"

	"wetside/sensors"
	"wetside/sensors/hidport"
)

func TestMain(m *testing.M) { goleak.VerifyTestMain(m) }

// meter stands in for a device: a queue that blocks as one does.
func meter(t *testing.T) (path string, f *os.File) {
	path = filepath.Join(t.TempDir(), "hidraw0")
	require.NoError(t, unix.Mkfifo(path, 0o600))
	f, err := os.OpenFile(path, os.O_RDWR, 0)
	require.NoError(t, err)
	t.Cleanup(func() { _ = f.Close() }) // may be closed by the test
	return path, f
}

func awake(*os.File) error { return nil }

func TestReportsAreHandedOnOneByOne(t *testing.T) {
	path, f := meter(t)
	woken := 0
	line, err := hidport.Opener{Wake: func(*os.File) error { woken++; return nil }}.Open(t.Context(), sensors.LineSettings{Path: path})
	require.NoError(t, err)
	require.Equal(t, 1, woken)
	for _, report := range []string{"12345678", "abcdefgh"} {
		_, err := f.WriteString(report)
		require.NoError(t, err)
		require.Equal(t, report, string(<-line.Chunks()))
	}
	require.Error(t, line.Write([]byte("x")), "nothing is sent to a meter")
	began := time.Now()
	require.NoError(t, line.Close())
	require.Less(t, time.Since(began), 500*time.Millisecond, "a meter that says nothing holds nobody up")
	require.NoError(t, line.Err())
}

func TestWhatIsNoMeterIsSaidSo(t *testing.T) {
	path, _ := meter(t)
	_, err := hidport.Opener{}.Open(t.Context(), sensors.LineSettings{Path: path})
	require.ErrorIs(t, err, sensors.ErrUnsupported, "a queue takes no feature report")
	require.ErrorContains(t, err, "is this a CO2 meter?")
	_, err = hidport.Opener{Wake: awake}.Open(t.Context(), sensors.LineSettings{Path: path + "none"})
	require.ErrorIs(t, err, sensors.ErrAbsent)
}

func TestAMeterThatIsUnpluggedIsGone(t *testing.T) {
	path := filepath.Join(t.TempDir(), "hidraw0")
	require.NoError(t, os.WriteFile(path, []byte("12345678"), 0o600)) // a file ends where a device fails
	line, err := hidport.Opener{Wake: awake}.Open(t.Context(), sensors.LineSettings{Path: path})
	require.NoError(t, err)
	require.Equal(t, "12345678", string(<-line.Chunks()))
	_, open := <-line.Chunks()
	require.False(t, open)
	require.ErrorIs(t, line.Err(), sensors.ErrGone)
	require.NoError(t, line.Close())
}
