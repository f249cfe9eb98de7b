package daemon_test

import (
	"fmt"
	"syscall"
	"testing"
	"time"

	"github.com/stretchr/testify/require"
)

// BenchmarkShareOfACore is what eight channels at 1 Hz take of one core, each in a
// frame of its own or all in one. An iteration is a second of the wall clock; what
// the test's own talking takes is in the figure.
func BenchmarkShareOfACore(b *testing.B) {
	for _, o := range []wiredOptions{{rooms: 1, lines: 2, channels: 8}, {rooms: 1, lines: 9, channels: 1}} {
		b.Run(fmt.Sprintf("frames=%d", o.lines-1), func(b *testing.B) {
			r := startWired(b, o)
			r.talk(time.Second)
			time.Sleep(2 * time.Second) // the start is not meant
			before, began := worked(b), time.Now()
			for b.Loop() {
				time.Sleep(time.Second)
			}
			b.ReportMetric(100*float64(worked(b)-before)/float64(time.Since(began)), "%core")
		})
	}
}

// worked is the processor time that this process has taken so far.
func worked(t testing.TB) time.Duration {
	var u syscall.Rusage
	require.NoError(t, syscall.Getrusage(syscall.RUSAGE_SELF, &u))
	return time.Duration(u.Utime.Nano() + u.Stime.Nano())
}
