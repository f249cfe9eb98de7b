package main

import (
	"syscall"
	"testing"

	"github.com/stretchr/testify/require"
)

// TestADemoEndsWithItsWindow: it would keep its address and its folder from the next one.
func TestADemoEndsWithItsWindow(t *testing.T) {
	p := wetside("demo", "--empty", "--listen", "127.0.0.1:0", "--data", t.TempDir())
	p.serve(t)
	require.NoError(t, p.Process.Signal(syscall.SIGHUP))
	require.NoError(t, p.end())
	require.Contains(t, p.errs.String(), "wetside was told to stop")
}
