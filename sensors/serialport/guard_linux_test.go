package serialport

import (
	"testing"
	"time"

	"github.com/creack/pty"
	"github.com/stretchr/testify/require"
	"golang.org/x/sys/unix"
)

func TestASilentLineIsWaitedForWithoutReading(t *testing.T) {
	peer, end, err := pty.Open()
	require.NoError(t, err)
	defer end.Close()
	settings, err := unix.IoctlGetTermios(int(end.Fd()), unix.TCGETS)
	require.NoError(t, err)
	settings.Lflag, settings.Iflag = 0, 0
	require.NoError(t, unix.IoctlSetTermios(int(end.Fd()), unix.TCSETS, settings))
	g, err := takeGuard(end.Name())
	require.NoError(t, err)
	open := make(chan struct{})

	require.False(t, g.wait(open, 10*time.Millisecond), "nothing to read")
	_, err = peer.WriteString("T1=20.1\n")
	require.NoError(t, err)
	require.True(t, g.wait(open, time.Minute))
	require.True(t, g.wait(open, time.Minute), "as long as nobody reads it")
	require.NoError(t, unix.IoctlSetInt(int(end.Fd()), unix.TCFLSH, unix.TCIFLUSH))

	stop := make(chan struct{})
	waited := make(chan bool)
	go func() { waited <- g.wait(stop, time.Minute) }()
	time.Sleep(10 * time.Millisecond)
	close(stop)
	g.interrupt()
	require.False(t, <-waited, "long before its limit")
	require.False(t, g.wait(stop, time.Minute), "nor is it waited for again")

	require.NoError(t, peer.Close())
	require.True(t, g.wait(open, time.Minute), "a read is to tell that the other end is gone")
	require.NoError(t, g.release())
}
