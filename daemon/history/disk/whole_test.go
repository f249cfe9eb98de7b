package disk_test

import (
	"errors"
	"io"
	"os"
	"path/filepath"
	"testing"

	"github.com/stretchr/testify/require"

	"wetside/daemon/history/disk"
)

func TestAFileIsReplacedAsAWhole(t *testing.T) {
	path := filepath.Join(t.TempDir(), "kept")
	require.NoError(t, disk.WriteBytes(path, 0o600, []byte("first")))
	require.NoError(t, disk.WriteBytes(path, 0o640, []byte("second")))
	text, err := os.ReadFile(path)
	require.NoError(t, err)
	require.Equal(t, "second", string(text))
	info, err := os.Stat(path)
	require.NoError(t, err)
	require.Equal(t, os.FileMode(0o640), info.Mode().Perm())
	require.NoFileExists(t, path+".part")
}

func TestAWriteThatFailsLeavesTheFileBeforeAsItWas(t *testing.T) {
	path := filepath.Join(t.TempDir(), "kept")
	require.NoError(t, disk.WriteBytes(path, 0o600, []byte("first")))
	full := errors.New("the disk is full")
	err := disk.WriteWhole(path, 0o600, func(w io.Writer) error {
		_, err := io.WriteString(w, "sec")
		return errors.Join(err, full)
	})
	require.ErrorIs(t, err, full)
	text, err := os.ReadFile(path)
	require.NoError(t, err)
	require.Equal(t, "first", string(text))
	require.NoFileExists(t, path+".part")
}

func TestALinkInTheWayIsNotFollowed(t *testing.T) {
	dir := t.TempDir()
	path, elsewhere := filepath.Join(dir, "kept"), filepath.Join(dir, "elsewhere")
	require.NoError(t, os.WriteFile(elsewhere, []byte("of somebody else"), 0o600))
	for _, name := range []string{path, path + ".part"} {
		require.NoError(t, os.Symlink(elsewhere, name))
		require.NoError(t, disk.WriteBytes(path, 0o755, []byte("ours")))
		text, err := os.ReadFile(elsewhere)
		require.NoError(t, err)
		require.Equal(t, "of somebody else", string(text), name)
		text, err = os.ReadFile(path)
		require.NoError(t, err)
		require.Equal(t, "ours", string(text))
		require.NoError(t, os.Remove(path))
	}
}
