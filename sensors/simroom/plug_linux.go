package simroom

import (
	"errors"
	"fmt"
	"os"
	"path/filepath"
	"sync"

	"github.com/creack/pty"
	"golang.org/x/sys/unix"
)

// havePseudoTerminals says whether this computer can make one.
func havePseudoTerminals() bool {
	master, slave, err := pty.Open()
	if err != nil {
		return false
	}
	return errors.Join(slave.Close(), master.Close()) == nil
}

// ptyPlug is a plug on a pseudo-terminal. A link of a constant name leads to it.
//
// A line that only speaks leaves the other side of its terminal alone, so that
// it can tell whether anybody has it open: what is said to nobody must not wait
// there as old news. A line that answers keeps that side open, so that it can
// wait for requests.
type ptyPlug struct {
	plugOptions
	master *os.File
	slave  *os.File      // nil for a line that only speaks
	out    chan struct{} // closed when the plug is pulled
	reader sync.WaitGroup
}

func newPtyPlug(o plugOptions) plug { return &ptyPlug{plugOptions: o} }

// insert makes a new terminal and lets the link lead to it.
func (p *ptyPlug) insert() error {
	master, slave, err := rawTerminal()
	if err != nil {
		return fmt.Errorf("pseudo-terminal for the line %q: %w", p.line, err)
	}
	p.master, p.slave, p.out = master, slave, make(chan struct{})
	if err := pointTo(slave.Name(), p.path); err != nil {
		p.pull()
		return fmt.Errorf("name for the line %q: %w", p.line, err)
	}
	if p.hears == nil {
		p.slave = nil
		return slave.Close()
	}
	p.reader.Go(func() { p.read(master, p.out) })
	return nil
}

// pointTo lets name lead to the device at once, without a moment in which it leads nowhere.
func pointTo(device, name string) error {
	if err := os.MkdirAll(filepath.Dir(name), 0o755); err != nil {
		return err
	}
	fresh := name + ".new"
	_ = os.Remove(fresh) // left behind by a run that was killed
	if err := os.Symlink(device, fresh); err != nil {
		return err
	}
	return os.Rename(fresh, name)
}

// rawTerminal opens a pair without echo or any treatment of the bytes; its
// master does not block, so that it can be closed while it is being read.
func rawTerminal() (master, slave *os.File, err error) {
	blocking, slave, err := pty.Open()
	if err != nil {
		return nil, nil, err
	}
	defer func() {
		if err = errors.Join(err, blocking.Close()); err != nil {
			err = errors.Join(err, slave.Close())
		}
	}()
	if err := makeRaw(int(slave.Fd())); err != nil {
		return nil, nil, err
	}
	fd, err := unix.FcntlInt(blocking.Fd(), unix.F_DUPFD_CLOEXEC, 0)
	if err != nil {
		return nil, nil, err
	}
	if err := unix.SetNonblock(fd, true); err != nil {
		return nil, nil, errors.Join(err, unix.Close(fd))
	}
	return os.NewFile(uintptr(fd), blocking.Name()), slave, nil
}

func makeRaw(fd int) error {
	t, err := unix.IoctlGetTermios(fd, unix.TCGETS)
	if err != nil {
		return err
	}
	t.Iflag, t.Oflag, t.Lflag = 0, 0, 0
	t.Cflag = t.Cflag&^(unix.CSIZE|unix.PARENB) | unix.CS8
	t.Cc[unix.VMIN], t.Cc[unix.VTIME] = 1, 0
	return unix.IoctlSetTermios(fd, unix.TCSETS, t)
}

// pull hangs up. The name goes first: a name that leads nowhere would be seen
// as a fault, a missing one as a missing plug.
func (p *ptyPlug) pull() {
	if p.master == nil {
		return
	}
	_ = os.Remove(p.path) // somebody may have cleared the folder
	close(p.out)
	if p.slave != nil {
		_ = p.slave.Close()
	}
	_ = p.master.Close()
	p.reader.Wait()
	p.master, p.slave = nil, nil
}

// read hands on what is sent to a line that answers, until the plug is pulled.
func (p *ptyPlug) read(master *os.File, out <-chan struct{}) {
	for {
		buffer := make([]byte, 256)
		n, err := master.Read(buffer)
		if err != nil {
			return
		}
		select {
		case p.hears <- heard{p.line, buffer[:n]}:
		case <-out:
			return
		}
	}
}

// say writes what the terminal takes at once, if anybody has it open.
func (p *ptyPlug) say(data []byte) bool {
	if p.master == nil || (p.hears == nil && !p.hasListener()) {
		return false
	}
	for len(data) > 0 {
		n, err := p.attempt(func(fd int) (int, error) { return unix.Write(fd, data) })
		if err != nil || n <= 0 {
			break // full: the rest is lost
		}
		data = data[n:]
	}
	return true
}

// hasListener throws away what was sent to a line that only speaks, and says
// whether the other side is open.
func (p *ptyPlug) hasListener() bool {
	var scrap [512]byte
	for {
		n, err := p.attempt(func(fd int) (int, error) { return unix.Read(fd, scrap[:]) })
		if err != nil || n <= 0 {
			return errors.Is(err, unix.EAGAIN)
		}
	}
}

// attempt makes one call on the master without waiting for it to get ready.
func (p *ptyPlug) attempt(call func(fd int) (int, error)) (n int, err error) {
	raw, err := p.master.SyscallConn()
	if err != nil {
		return 0, err
	}
	outer := raw.Control(func(fd uintptr) {
		for n, err = call(int(fd)); errors.Is(err, unix.EINTR); n, err = call(int(fd)) {
		}
	})
	return n, errors.Join(outer, err)
}
