package hidport

import (
	"os"
	"unsafe"

	"golang.org/x/sys/unix"
)

// setFeature asks the kernel to send a feature report of nine bytes: HIDIOCSFEATURE(9) of
// linux/hidraw.h, which is _IOC(_IOC_WRITE|_IOC_READ, 'H', 0x06, 9).
const setFeature = 3<<30 | 9<<16 | 'H'<<8 | 0x06

// giveKey sends report 0 with a key of eight zeros.
func giveKey(f *os.File) error {
	var report [9]byte
	control, err := f.SyscallConn()
	if err != nil {
		return err
	}
	var failed unix.Errno
	err = control.Control(func(fd uintptr) {
		_, _, failed = unix.Syscall(unix.SYS_IOCTL, fd, setFeature, uintptr(unsafe.Pointer(&report)))
	})
	if err == nil && failed != 0 {
		err = failed
	}
	return err
}
