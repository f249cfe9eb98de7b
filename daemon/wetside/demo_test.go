package main

import (
	"net"
	"path/filepath"
	"testing"

	"github.com/stretchr/testify/require"

	"wetside/daemon/history"
)

// TestASecondDemoLeavesTheFirstOneItsPorts: where the folder is taken, nothing in it is touched.
func TestASecondDemoLeavesTheFirstOneItsPorts(t *testing.T) {
	taken := runningHistory(t)
	second := say(t, "demo", "--empty", "--data", taken, "--listen", "127.0.0.1:0")
	require.Equal(t, exitFailed, second.code)
	require.Contains(t, second.errs, "in use by another wetside")
	require.NoDirExists(t, filepath.Join(taken, "ports"))
}

// TestADemoWhoseAddressIsTakenInventsNothing: who starts it twice would wait for minutes to read that.
func TestADemoWhoseAddressIsTakenInventsNothing(t *testing.T) {
	other, err := net.Listen("tcp", "127.0.0.1:0")
	require.NoError(t, err)
	defer other.Close()
	dir := t.TempDir()
	second := say(t, "demo", "--data", dir, "--listen", other.Addr().String())
	require.Equal(t, exitFailed, second.code)
	require.Contains(t, second.errs, "choose another with --listen")
	require.Empty(t, second.out)
	require.NoFileExists(t, filepath.Join(dir, history.FileName))
}
