package config_test

import (
	"fmt"
	"os"
	"path/filepath"
	"testing"

	"github.com/stretchr/testify/require"

	"wetside/configs"
	"wetside/daemon/config"
)

func TestWhereReadingsAreHandedOnToIsRead(t *testing.T) {
	token := filepath.Join(t.TempDir(), "token")
	require.NoError(t, os.WriteFile(token, []byte("abc\n"), 0o600))
	parse := func(text string) (config.Config, error) {
		return config.Parse("site.toml", append([]byte(text), configs.Demo...))
	}
	c, err := parse(fmt.Sprintf("[remote-write]\nurl = \"https://metrics.example.org/api/v1/write\"\nsite = \"north\"\ntoken-file = "+
		"%q\nlabels = {building = \"B\"}\n", token))
	require.NoError(t, err)
	require.Equal(t, config.RemoteWrite{URL: "https://metrics.example.org/api/v1/write", Token: "abc",
		Labels: map[string]string{"site": "north", "building": "B"}}, c.RemoteWrite)
	require.NoError(t, os.WriteFile(token, []byte("a\nb\n"), 0o600))
	for text, want := range map[string]string{
		"[remote-write]\n": "remote-write.url: is missing",
		"[remote-write]\nurl = \"ftp://x/\"\n": `site.toml:2:1: remote-write.url: "ftp://x/" is not ` +
			`an address`,
		"[remote-write]\nurl = \"https://x/\"\ntoken-file = \"none\"\n":               "remote-write.token-file: can't be read",
		fmt.Sprintf("[remote-write]\nurl = \"https://x/\"\ntoken-file = %q\n", token): "expected one line with the secret",
		"[remote-write]\nurl = \"https://x/\"\nspeed = 3\n":                           "remote-write.speed: unknown key",
		"[remote-write]\nurl = \"https://x/\"\n":                                      "remote-write.site: is missing",
		"[remote-write]\nurl = \"https://x/\"\nlabels = {room = \"x\"}\n":             "remote-write.labels.room: can't be a label name",
		"[remote-write]\nurl = \"https://x/\"\nlabels = {__x = \"x\"}\n":              "remote-write.labels.__x: can't be a label name",
	} {
		_, err := parse(text)
		require.ErrorContains(t, err, want, text)
	}
}
