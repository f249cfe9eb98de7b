package main

import (
	"os"
	"path/filepath"
	"testing"

	"github.com/stretchr/testify/require"
)

func TestASelfcheckSaysWhatToDoAboutEachThing(t *testing.T) {
	dir := t.TempDir()
	got := say(t, "selfcheck", "--config", filepath.Join(dir, "none.toml"))
	require.Equal(t, exitFailed, got.code)
	require.Contains(t, got.out, "LOOK configuration")
	require.Contains(t, got.out, "--first-run")

	file := filepath.Join(dir, "site.toml")
	text := "[site]\nlisten = \"127.0.0.1:1\"\ndata = '" + filepath.Join(dir, "data") +
		"'\n[[room]]\nid = \"a\"\nname = \"A\"\nvolume = \"30 m3\"\n" +
		"[[room.line]]\nid = \"trays\"\nport = '" + filepath.Join(dir, "port") +
		"'\nbaud = 9600\ndialect = \"text\"\n[[room.line.channel]]\nid = \"dev\"\nname = \"D\"\nquantity = \"bath-temperature\"\naddress = " +
		"\"DEV\"\nunit = \"C\"\n"
	require.NoError(t, os.WriteFile(file, []byte(text), 0o600))
	got = say(t, "selfcheck", "--config", file)
	require.Equal(t, exitFailed, got.code, got.out)
	for _, want := range []string{"ok   configuration", "LOOK line trays", "plug the probe in", "not there yet", "GB free of",
		"ok   record book", "none yet", "LOOK running program", "systemctl status wetside"} {
		require.Contains(t, got.out, want)
	}
	require.NoError(t, os.WriteFile(filepath.Join(dir, "port"), nil, 0o600))
	require.Contains(t, say(t, "selfcheck", "--config", file).out, "ok   line trays")
}

func TestTheHelpOfSelfcheckNamesNothingThatWindowsHasNot(t *testing.T) {
	require.Contains(t, selfcheckHelp("windows"), `C:\wetside\site.toml`)
	require.NotContains(t, selfcheckHelp("windows"), "sudo")
	require.Contains(t, selfcheckHelp("linux"), "sudo -u wetside")
}
