package daemon

import "runtime"

// atOnce is how many goroutines are offered to the operating system at once, at least.
const atOnce = 8

// ShareCores lets the operating system share few cores among a frame, the pages and a
// long report. Go's own scheduler lets whatever runs go on for 10 ms, and a frame
// changes goroutines several times on its way to the page; the operating system lets
// what was asleep go first.
func ShareCores() { runtime.GOMAXPROCS(max(atOnce, runtime.GOMAXPROCS(0))) }
