//go:build linux

package serialport_test

import (
	"context"
	"os"
	"path/filepath"
	"strings"
	"testing"
	"time"

	"github.com/creack/pty"
	"github.com/stretchr/testify/require"
	"golang.org/x/sys/unix"

	"wetside/sensors"
	"wetside/sensors/serialport"
)

// cable is a pseudo-terminal behind a link, as an adapter is behind its name.
type cable struct {
	t    testing.TB
	link string
	peer *os.File // the probe's end
}

func newCable(t testing.TB) *cable {
	t.Helper()
	c := &cable{t: t, link: filepath.Join(t.TempDir(), "usb-probe")}
	c.plug()
	t.Cleanup(func() { _ = c.peer.Close() })
	return c
}

// plug makes a new device and leads the link to it.
func (c *cable) plug() {
	peer, end, err := pty.Open()
	require.NoError(c.t, err)
	node := end.Name()
	require.NoError(c.t, end.Close())
	c.peer = interruptible(c.t, peer)
	_ = os.Remove(c.link) // absent the first time
	require.NoError(c.t, os.Symlink(node, c.link))
}

// interruptible gives the same terminal as a file whose Close ends a blocked Write.
func interruptible(t testing.TB, f *os.File) *os.File {
	t.Helper()
	descriptor, err := unix.Dup(int(f.Fd()))
	require.NoError(t, err)
	require.NoError(t, f.Close())
	require.NoError(t, unix.SetNonblock(descriptor, true))
	return os.NewFile(uintptr(descriptor), f.Name())
}

// pull takes the device away, and its name with it.
func (c *cable) pull() {
	require.NoError(c.t, c.peer.Close())
	require.NoError(c.t, os.Remove(c.link))
}

func (c *cable) say(text string) {
	c.t.Helper()
	_, err := c.peer.WriteString(text)
	require.NoError(c.t, err)
}

func (c *cable) settings() sensors.LineSettings {
	return sensors.LineSettings{Path: c.link, Baud: 9600, DataBits: 8, Parity: 'N', StopBits: 1}
}

func (c *cable) open() sensors.Line {
	c.t.Helper()
	return c.openWith(serialport.New())
}

func (c *cable) openWith(o *serialport.Opener) sensors.Line {
	c.t.Helper()
	l, err := o.Open(context.Background(), c.settings())
	require.NoError(c.t, err)
	return l
}

// hear collects n bytes from a line.
func hear(t testing.TB, l sensors.Line, n int) string {
	t.Helper()
	var heard strings.Builder
	limit := time.After(5 * time.Second)
	for heard.Len() < n {
		select {
		case chunk, open := <-l.Chunks():
			require.True(t, open, "the line ended: %v", l.Err())
			heard.Write(chunk)
		case <-limit:
			require.FailNow(t, "too little came", "%d of %d bytes: %q", heard.Len(), n, heard.String())
		}
	}
	return heard.String()
}

// waitGone waits for the line to end by itself, whatever it still brings.
func waitGone(t testing.TB, l sensors.Line) {
	t.Helper()
	limit := time.After(5 * time.Second)
	for {
		select {
		case _, open := <-l.Chunks():
			if !open {
				return
			}
		case <-limit:
			require.FailNow(t, "the line did not end")
		}
	}
}
