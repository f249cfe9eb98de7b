package main

import (
	"os"
	"os/signal"
	"syscall"
	"testing"

	"github.com/stretchr/testify/require"
)

// TestADemoEndsWithItsWindow: it would keep its address and its folder from the next one.
func TestADemoEndsWithItsWindow(t *testing.T) {
	heard := make(chan os.Signal, 1)
	signal.Notify(heard, syscall.SIGHUP) // what the tests themselves ignore, the program that they start would ignore too
	defer signal.Stop(heard)
	p := wetside("demo", "--empty", "--listen", "127.0.0.1:0", "--data", t.TempDir())
	p.serve(t)
	require.NoError(t, p.Process.Signal(syscall.SIGHUP))
	require.NoError(t, p.end())
	require.Contains(t, p.errs.String(), "wetside was told to stop")
}
