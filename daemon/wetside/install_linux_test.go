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
	unit, err := os.ReadFile(at(ownPlaces().unit))
	require.NoError(t, err)
	require.Equal(t, configs.Unit, unit)
	info, err := os.Stat(at(ownPlaces().program))
	require.NoError(t, err)
	require.Equal(t, os.FileMode(0o755), info.Mode().Perm())
	for _, path := range []string{ownPlaces().rules, configFolder + "/one-room.toml"} {
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
	require.NoFileExists(t, at(ownPlaces().program))
	require.NoFileExists(t, at(ownPlaces().unit))
	require.FileExists(t, mine)
	require.DirExists(t, at(dataFolder))
	got = say(t, "uninstall", "--root", root)
	require.Equal(t, exitDone, got.code, "what is not there is no trouble")
}

func TestARelativeRootLiesBelowTheFolderOfWhoeverCalls(t *testing.T) {
	t.Chdir(t.TempDir())
	require.Equal(t, exitDone, say(t, "install", "--root", "image").code)
	require.FileExists(t, filepath.Join("image", ownPlaces().program))
}

func TestTheServiceMayWriteWhereTheConfigurationWantsTo(t *testing.T) {
	root := t.TempDir()
	at := func(path string) string { return filepath.Join(root, path) }
	install := func(backups string) said {
		text := string(configs.OneRoom)
		if backups != "" {
			text += "\n[backup]\nfolder = " + backups + "\n"
		}
		require.NoError(t, os.MkdirAll(at(configFolder), 0o755))
		require.NoError(t, os.WriteFile(at(configFolder+"/site.toml"), []byte(text), 0o640))
		return say(t, "install", "--root", root)
	}
	looked := func() string { return checkService(root, at(configFolder+"/site.toml"))[0].Detail }

	require.Equal(t, exitDone, install(`"/media/disk/wetside"`).code)
	text, err := os.ReadFile(at(foldersPlace))
	require.NoError(t, err)
	require.Contains(t, string(text), "[Service]\nReadWritePaths=-/media/disk/wetside\n")
	require.Equal(t, "it may write to the folders of the configuration", looked())

	require.Equal(t, exitDone, install("").code)
	require.NoFileExists(t, at(foldersPlace), "nothing more is allowed than is asked for")
	require.Equal(t, exitDone, install(`"/var/lib/wetside/copies"`).code)
	require.NoFileExists(t, at(foldersPlace), "its own folder is allowed anyway")

	for _, odd := range []string{`"/media/disk\nUser=root"`, `"/"`, `"/media"`, `"/media/../etc"`, `"media/disk"`, `"/media/%h/x"`} {
		got := install(odd)
		require.Equal(t, exitFailed, got.code, odd)
		require.Contains(t, got.errs, "can't be allowed to the service", odd)
		require.NoFileExists(t, at(foldersPlace))
	}
	require.NoError(t, os.WriteFile(at(configFolder+"/site.toml"),
		[]byte(string(configs.OneRoom)+"\n[backup]\nfolder = \"/media/other/wetside\"\n"), 0o640))
	require.Equal(t, "it may not write to /media/other/wetside", looked(), "the folder was changed and install not run again")
}

func TestAPackageBringsItsFilesInThePlacesOfTheSystem(t *testing.T) {
	root := t.TempDir()
	require.Equal(t, exitDone, say(t, "install", "--root", root, "--packaged").code)
	for _, path := range packagePlaces().files() {
		require.FileExists(t, filepath.Join(root, path))
	}
	unit, err := os.ReadFile(filepath.Join(root, packagePlaces().unit))
	require.NoError(t, err)
	require.Contains(t, string(unit), "ExecStart=/usr/bin/wetside run ")
	require.NotContains(t, string(unit), "/usr/local")
	for _, path := range []string{"etc", "var", "usr/local"} {
		require.NoDirExists(t, filepath.Join(root, path), "configuration, data and what is installed by hand belong to the place")
	}
}
