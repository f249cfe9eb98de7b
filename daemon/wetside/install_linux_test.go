package main

import (
	"os"
	"path/filepath"
	"testing"

	"github.com/stretchr/testify/require"

	"wetside/configs"
)

func TestAnInstallationIsPutInPlaceUpgradedAndTakenAwayWithoutTheData(t *testing.T) {
	root := t.TempDir()
	at := func(path string) string { return filepath.Join(root, path) }
	got := say(t, "install", "--root", root)
	require.Equal(t, exitDone, got.code)
	require.Contains(t, got.out, "/usr/local/bin/wetside")
	unit, err := os.ReadFile(at(unitPlace))
	require.NoError(t, err)
	require.Equal(t, configs.Unit, unit)
	info, err := os.Stat(at(programPlace))
	require.NoError(t, err)
	require.Equal(t, os.FileMode(0o755), info.Mode().Perm())
	for _, path := range []string{rulesPlace, configFolder + "/one-room.toml"} {
		require.FileExists(t, at(path))
	}
	require.DirExists(t, at(dataFolder))

	mine := at(configFolder + "/site.toml")
	require.NoError(t, os.WriteFile(mine, []byte("# mine\n"), 0o640))
	got = say(t, "install", "--root", root)
	require.Equal(t, exitDone, got.code, "an upgrade is the same command")
	got = say(t, "uninstall", "--root", root)
	require.Equal(t, exitDone, got.code)
	require.Contains(t, got.out, "stay")
	require.NoFileExists(t, at(programPlace))
	require.NoFileExists(t, at(unitPlace))
	require.FileExists(t, mine)
	require.DirExists(t, at(dataFolder))
	got = say(t, "uninstall", "--root", root)
	require.Equal(t, exitDone, got.code, "what is not there is no trouble")
}

func TestARelativeRootLiesBelowTheFolderOfWhoeverCalls(t *testing.T) {
	t.Chdir(t.TempDir())
	require.Equal(t, exitDone, say(t, "install", "--root", "image").code)
	require.FileExists(t, filepath.Join("image", programPlace))
}
