//go:build unix

package serialport

import (
	"errors"
	"io/fs"
	"os"
	"os/user"
	"path/filepath"
	"strconv"
	"syscall"
	"time"

	"golang.org/x/sys/unix"

	"wetside/sensors"
	"wetside/sensors/quantity/phrase"
)

// guard holds a second descriptor on the node of a line: it keeps a second
// program off (an advisory lock, which also stops one run as root, and the
// terminal's exclusive mode) and remembers which device was opened.
type guard struct {
	path string // as configured, usually a link that names the device
	node string // what the link led to
	file *os.File
	was  fs.FileInfo
}

func takeGuard(path string) (*guard, error) {
	node, err := filepath.EvalSymlinks(path)
	if err != nil {
		return nil, err
	}
	found, err := os.Stat(node)
	if err != nil {
		return nil, err
	}
	if found.Mode()&fs.ModeCharDevice == 0 {
		return nil, syscall.ENOTTY
	}
	file, err := os.OpenFile(node, unix.O_RDWR|unix.O_NOCTTY|unix.O_NONBLOCK, 0)
	if err != nil {
		return nil, err
	}
	g := &guard{path: path, node: node, file: file}
	g.was, err = file.Stat()
	if err == nil {
		err = g.control(func(fd int) error { return unix.Flock(fd, unix.LOCK_EX|unix.LOCK_NB) })
	}
	if err != nil {
		return nil, errors.Join(err, file.Close())
	}
	return g, nil
}

// control does something to the descriptor and leaves it as it is: one that Fd gives
// away can't be waited for any more.
func (g *guard) control(do func(fd int) error) error {
	raw, err := g.file.SyscallConn()
	if err != nil {
		return err
	}
	var failed error
	err = raw.Control(func(fd uintptr) { failed = do(int(fd)) })
	return errors.Join(err, failed)
}

// wait is done on this descriptor, so that a silent line takes neither a thread nor,
// five times a second, a timeout of the library. Where the system can't wait for a
// terminal, each read waits.
func (g *guard) wait(stop <-chan struct{}, limit time.Duration) bool {
	raw, err := g.file.SyscallConn()
	if err != nil || g.file.SetReadDeadline(time.Now().Add(limit)) != nil {
		return true
	}
	select {
	case <-stop:
		return false
	default:
		return !errors.Is(raw.Read(readable), os.ErrDeadlineExceeded)
	}
}

func (g *guard) interrupt() { _ = g.file.SetReadDeadline(time.Now()) } // without deadlines nothing waits

func readable(fd uintptr) bool {
	n, err := unix.Poll([]unix.PollFd{{Fd: int32(fd), Events: unix.POLLIN}}, 0)
	return n > 0 || err != nil && err != unix.EINTR
}

// device is the path to open with the library: the node itself, so that a link
// that changes meanwhile can't lead elsewhere.
func (g *guard) device() string { return g.node }

// exclude refuses further openings by programs without special rights.
func (g *guard) exclude() error { return g.set(unix.TIOCEXCL) }

func (g *guard) set(request uint) error {
	return g.control(func(fd int) error { return unix.IoctlSetInt(fd, request, 0) })
}

// check says whether the configured path still leads to the device opened.
func (g *guard) check() error {
	is, err := os.Stat(g.path)
	if err != nil {
		return phrase.Errorf("%w: %w", sensors.ErrGone, err)
	}
	if !os.SameFile(g.was, is) || deviceNumber(g.was) != deviceNumber(is) {
		return phrase.Errorf("%w: the path leads to another device now", sensors.ErrGone)
	}
	return nil
}

func deviceNumber(info fs.FileInfo) uint64 {
	if s, ok := info.Sys().(*syscall.Stat_t); ok {
		return uint64(s.Rdev)
	}
	return 0
}

// release lifts the exclusive mode, which would outlive us where the other end
// keeps the device open, and the lock with the descriptor.
func (g *guard) release() error {
	_ = g.set(unix.TIOCNXCL) // fails on a vanished device
	return g.file.Close()
}

// kindOf sorts an error of opening, with what to do about it.
func kindOf(path string, err error) (hint phrase.Sentence, kind error) {
	switch {
	case errors.Is(err, fs.ErrNotExist), errors.Is(err, syscall.ENXIO), errors.Is(err, syscall.ENODEV):
		return phrase.Say("plug it in, or correct the path in the configuration"), sensors.ErrAbsent
	case errors.Is(err, syscall.EBUSY), errors.Is(err, syscall.EWOULDBLOCK):
		return phrase.Say("end the other program that uses it"), sensors.ErrBusy
	case errors.Is(err, fs.ErrPermission):
		return phrase.Say("add the user that runs this program to %s and sign in again", owners(path)), sensors.ErrForbidden
	case errors.Is(err, syscall.ENOTTY), errors.Is(err, syscall.EINVAL):
		return phrase.Say("expected a serial device; check the path and the line settings"), sensors.ErrUnsupported
	case errors.Is(err, syscall.EIO):
		return phrase.Say("unplug it and plug it in again"), sensors.ErrGone
	}
	return hint, nil
}

// owners names the group that owns the device, which may use it.
func owners(path string) phrase.Sentence {
	unknown := phrase.Say("the group that owns the device")
	info, err := os.Stat(path)
	if err != nil {
		return unknown
	}
	s, ok := info.Sys().(*syscall.Stat_t)
	if !ok {
		return unknown
	}
	group, err := user.LookupGroupId(strconv.FormatUint(uint64(s.Gid), 10))
	if err != nil {
		return unknown
	}
	return phrase.Say("the group %q", group.Name)
}
