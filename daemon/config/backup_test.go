package config_test

import (
	"fmt"
	"os"
	"path/filepath"
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"wetside/configs"
	"wetside/daemon/config"
)

func TestBackupsHaveAFolderAndUsualIntervals(t *testing.T) {
	with := func(table string) (config.Config, error) {
		return config.Parse("site.toml", append([]byte("[backup]\n"+table), configs.Demo...))
	}
	c, err := with("folder = \"/media/disk\"\n")
	require.NoError(t, err)
	require.Equal(t, config.Backup{Folder: "/media/disk", Every: 24 * time.Hour, Keep: 14}, c.Backup)
	c, err = with("folder = \"/media/disk\"\nevery = \"12h\"\nkeep = 3\n")
	require.NoError(t, err)
	require.Equal(t, config.Backup{Folder: "/media/disk", Every: 12 * time.Hour, Keep: 3}, c.Backup)
	_, err = with("every = \"1s\"\nkeep = 0\n")
	for _, want := range []string{"backup.folder", "backup.every", "backup.keep"} {
		require.ErrorContains(t, err, want)
	}
}

func TestTheAuthorityOfTimeStampsIsAFileOfCertificates(t *testing.T) {
	none := filepath.Join(t.TempDir(), "none.pem")
	require.NoError(t, os.WriteFile(none, []byte("no certificate"), 0o600))
	for file, want := range map[string]string{none: "timestamp.authority: expected certificates in PEM form", none + "x": "can't be read"} {
		_, err := config.Parse("site.toml", append([]byte(fmt.Sprintf("[timestamp]\nurl = \"https://x.example\"\nauthority = %q\n", file)),
			configs.Demo...))
		require.ErrorContains(t, err, want)
	}
}
