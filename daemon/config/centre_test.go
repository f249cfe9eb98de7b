package config_test

import (
	"fmt"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"github.com/stretchr/testify/require"

	"wetside/configs"
	"wetside/daemon/config"
)

func TestTheCentreIsReadWithTheKeyOfTheSite(t *testing.T) {
	file, key := filepath.Join(t.TempDir(), "key"), strings.Repeat("0a", 32)
	require.NoError(t, os.WriteFile(file, []byte(key+"\n"), 0o600))
	parse := func(text string) (config.Config, error) {
		return config.Parse("site.toml", append([]byte(text), configs.Demo...))
	}
	print := strings.TrimSuffix(strings.Repeat("AB:", 32), ":")
	c, err := parse(fmt.Sprintf("[centre]\nurl = \"https://centre.example.org\"\nkey-file = %q\nfingerprint = %q\n", file, print))
	require.NoError(t, err)
	require.Equal(t, config.Centre{URL: "https://centre.example.org", Key: key, Fingerprint: print}, c.Centre)
	require.NoError(t, os.WriteFile(file, []byte("soup\n"), 0o600))
	for text, want := range map[string]string{
		"[centre]\nkey-file = \"none\"\n":                      "centre.url: is missing",
		"[centre]\nurl = \"centre\"\nkey-file = \"none\"\n":    `"centre" is not an address`,
		"[centre]\nurl = \"https://x\"\nkey-file = \"none\"\n": "centre.key-file: open none",
		fmt.Sprintf("[centre]\nurl = \"https://x\"\nkey-file = %q\n",
			file): "expected one line with the key of 64 hexadecimal digits",
		fmt.Sprintf("[centre]\nurl = \"https://x\"\nkey-file = %q\nfingerprint = \"ab\"\n", file): "expected the SHA-256 of a certificate",
		fmt.Sprintf("[centre]\nurl = \"https://x\"\nkey-file = %q\nname = \"Library\"\n", file):   "centre.name: unknown key",
	} {
		_, err := parse(text)
		require.ErrorContains(t, err, want, text)
	}
}
