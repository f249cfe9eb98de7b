package daemon

import "golang.org/x/sys/unix"

// unsynchronised is the flag by which the kernel says that nothing sets its clock;
// STA_UNSYNC in adjtimex(2).
const unsynchronised = 0x40

// clockSynced says whether a time service sets the clock, where the system tells.
func clockSynced() (synced, known bool) {
	var t unix.Timex
	if _, err := unix.Adjtimex(&t); err != nil {
		return false, false
	}
	return t.Status&unsynchronised == 0, true
}
