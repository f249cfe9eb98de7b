package config_test

import (
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
