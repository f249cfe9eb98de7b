package main

import (
	"path/filepath"
	"testing"

	"github.com/stretchr/testify/require"
)

// TestASecondDemoLeavesTheFirstOneItsPorts: where the folder is taken, nothing in it is touched.
func TestASecondDemoLeavesTheFirstOneItsPorts(t *testing.T) {
	taken := runningHistory(t)
	second := say(t, "demo", "--empty", "--data", taken, "--listen", "127.0.0.1:0")
	require.Equal(t, exitFailed, second.code)
	require.Contains(t, second.errs, "in use by another wetside")
	require.NoDirExists(t, filepath.Join(taken, "ports"))
}
