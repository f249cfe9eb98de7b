package daemon_test

import (
	"errors"
	"math/rand/v2"
	"os"
	"path/filepath"
	"testing"

	"github.com/creack/pty"
	"github.com/stretchr/testify/require"
	"golang.org/x/sys/unix"
)

// cable is a pseudo-terminal behind a link of a constant name, as an adapter is
// behind its name, with somebody at its other end who can't be trusted.
type cable struct {
	*testing.T
	dice *rand.Rand
	link string
	peer *os.File
}

func newCable(t *testing.T, seed uint64) *cable {
	c := &cable{T: t, dice: rand.New(rand.NewPCG(seed, 1)), link: filepath.Join(t.TempDir(), "usb-probe")}
	c.plug()
	t.Cleanup(func() { _ = c.peer.Close() })
	return c
}

// plug makes a new terminal, under whatever number the computer gives it, and leads the link there.
func (c *cable) plug() {
	peer, end, err := pty.Open()
	require.NoError(c, err)
	fd, err := unix.FcntlInt(peer.Fd(), unix.F_DUPFD_CLOEXEC, 0)
	require.NoError(c, errors.Join(err, raw(end), unix.SetNonblock(fd, true)))
	require.NoError(c, os.Symlink(end.Name(), c.link+".new"))
	require.NoError(c, errors.Join(end.Close(), peer.Close(), os.Rename(c.link+".new", c.link)))
	c.peer = os.NewFile(uintptr(fd), "peer")
}

func raw(f *os.File) error {
	t, err := unix.IoctlGetTermios(int(f.Fd()), unix.TCGETS)
	if err != nil {
		return err
	}
	t.Iflag, t.Oflag, t.Lflag = 0, 0, 0
	t.Cflag = t.Cflag&^(unix.CSIZE|unix.PARENB) | unix.CS8
	return unix.IoctlSetTermios(int(f.Fd()), unix.TCSETS, t)
}

// move pulls the plug and puts it in elsewhere.
func (c *cable) move() {
	require.NoError(c, os.Remove(c.link))
	require.NoError(c, c.peer.Close())
	c.plug()
}

// say writes what the terminal takes at once; the rest is lost, as on a real line.
func (c *cable) say(data []byte) {
	raw, err := c.peer.SyscallConn()
	require.NoError(c, err)
	require.NoError(c, raw.Control(func(fd uintptr) { _, _ = unix.Write(int(fd), data) }))
}

// hear gives what was sent to this end since the last time.
func (c *cable) hear() []byte {
	raw, err := c.peer.SyscallConn()
	require.NoError(c, err)
	buffer, n := make([]byte, 512), 0
	require.NoError(c, raw.Control(func(fd uintptr) { n, _ = unix.Read(int(fd), buffer) }))
	return buffer[:max(n, 0)]
}

// spoil flips one bit, or several when the check of the dialect finds any number.
func (c *cable) spoil(frame []byte, most int) []byte {
	frame = append([]byte(nil), frame...)
	for range 1 + c.dice.IntN(most) {
		frame[c.dice.IntN(len(frame))] ^= 1 << c.dice.IntN(8)
	}
	return frame
}

// atWrongSpeed is what a receiver makes of a frame that is sent at half its speed:
// each bit is taken for two, start and stop bits among them.
func atWrongSpeed(frame []byte) []byte {
	var bits []bool
	for _, b := range frame {
		bits = append(bits, false, false) // start
		for i := range 8 {
			bit := b>>i&1 == 1
			bits = append(bits, bit, bit)
		}
		bits = append(bits, true, true) // stop
	}
	var out []byte
	for i := 0; i+10 <= len(bits); {
		if bits[i] {
			i++ // idle
			continue
		}
		var b byte
		for j := range 8 {
			if bits[i+1+j] {
				b |= 1 << j
			}
		}
		out = append(out, b)
		i += 10
	}
	return out
}

// noise is anything at all.
func (c *cable) noise() []byte {
	data := make([]byte, 1+c.dice.IntN(4000))
	for i := range data {
		data[i] = byte(c.dice.Uint32())
	}
	return data
}

// mixed are two frames of two talkers at once.
func (c *cable) mixed(a, b []byte) (out []byte) {
	for len(a)+len(b) > 0 {
		if len(b) == 0 || (len(a) > 0 && c.dice.IntN(2) == 0) {
			out, a = append(out, a[0]), a[1:]
		} else {
			out, b = append(out, b[0]), b[1:]
		}
	}
	return out
}
