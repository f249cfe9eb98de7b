package history_test

import (
	"os"
	"runtime"
	"syscall"
	"testing"

	"github.com/stretchr/testify/require"

	"wetside/daemon/history"
)

// asNobody runs fn with the file permissions of a user without any, which matters
// when the tests run as root.
func asNobody(t *testing.T, fn func()) {
	runtime.LockOSThread()
	defer runtime.UnlockOSThread()
	if os.Geteuid() == 0 {
		require.NoError(t, syscall.Setfsuid(65534))
		defer func() { require.NoError(t, syscall.Setfsuid(0)) }()
	}
	fn()
}

func TestAFolderWithoutPermissionIsNamed(t *testing.T) {
	dir := t.TempDir()
	require.NoError(t, os.Chmod(dir, 0o555))
	asNobody(t, func() {
		_, err := history.Open(t.Context(), options(dir, newHandClock(evening())))
		require.ErrorIs(t, err, history.ErrReadOnly)
		require.ErrorContains(t, err, dir)
	})
}
