package config_test

import (
	"fmt"
	"os"
	"path/filepath"
	"strings"
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"wetside/daemon/config"
	"wetside/rules/access"
)

// withAccess is the example of one room with more lines before its units.
func withAccess(t *testing.T, lines string) (config.Config, error) {
	t.Helper()
	text, err := os.ReadFile(filepath.Join("..", "..", "configs", "one-room.toml"))
	require.NoError(t, err)
	return config.Parse("site.toml", []byte(strings.Replace(string(text), "[units]", lines+"\n[units]", 1)))
}

func TestWhoMayUseThePagesIsRead(t *testing.T) {
	c, err := withAccess(t, "[access]\nsign-in = true\nreading-for-anybody = true\nsession = \"8h\"\nhosts = "+
		"[\"darkroom.example.org\"]\nplain-http-on-the-network = true\nsecond-step = \"keeper\"")
	require.NoError(t, err)
	require.Equal(t, config.Access{SignIn: true, OpenReading: true, SecondStep: access.Keeper, Session: 8 * time.Hour,
		Hosts:     []string{"darkroom.example.org"},
		PlainHTTP: true}, c.Access)
	c, err = withAccess(t, "")
	require.NoError(t, err)
	require.Equal(t, config.Access{Session: 12 * time.Hour}, c.Access, "a single computer asks nobody")
}

func TestWhatCannotBeMeantIsRefused(t *testing.T) {
	secret := filepath.Join(t.TempDir(), "secret")
	require.NoError(t, os.WriteFile(secret, []byte("sixteen letters!"), 0o600))
	for lines, want := range map[string]string{
		"[access]\nhosts = [\"https://darkroom.example.org\"]": "is not a host name",
		"[access]\ncertificate = \"/nowhere/cert.pem\"":        "belong together",
		"[access]\nsecond-step = \"boss\"":                     "is not a role",
		"[access]\nsession = \"5m\"":                           "expected a time from 1h",
		"[access]\nsignin = true":                              "unknown key; allowed here: certificate, hosts, house, key",
		"[webhook]\nurl = \"http://127.0.0.1:8420/x\"":         "where wetside itself listens",
		"[webhook]\nurl = \"http://localhost:8420/x\"":         "where wetside itself listens",
		"[webhook]\nurl = \"http://[::1]:8420/x\"":             "where wetside itself listens",
		"[webhook]\nurl = \"http://0.0.0.0:8420/x\"":           "where wetside itself listens",
	} {
		_, err := withAccess(t, lines+fmt.Sprintf("\n%s", strings.Repeat("secret-file = \""+secret+"\"", strings.Count(lines, "webhook"))))
		require.ErrorContains(t, err, want, lines)
	}
	_, err := withAccess(t, "[webhook]\nurl = \"http://127.0.0.1:9000/x\"\nsecret-file = \""+secret+"\"")
	require.NoError(t, err, "another program on this computer may be told")
}

func TestWhichAddressesAreBeyondThisComputer(t *testing.T) {
	for listen, beyond := range map[string]bool{
		"127.0.0.1:8420": false, "127.9.9.9:1": false, "[::1]:8420": false, "localhost:8420": false, "[::ffff:127.0.0.1]:1": false,
		":8420": true, "0.0.0.0:8420": true, "[::]:8420": true, "192.0.2.1:8420": true, "example.org:8420": true, "nonsense": true,
	} {
		require.Equal(t, beyond, config.Beyond(listen), listen)
	}
}

func TestPagesBeyondThisComputerAreEncryptedUnlessSomebodyAskedForOtherwise(t *testing.T) {
	const here, beyond = "127.0.0.1:8420", "0.0.0.0:8420"
	for _, c := range []struct {
		listen string
		access config.Access
		want   string
	}{
		{here, config.Access{}, "http"},
		{here, config.Access{Certificate: "own.pem"}, "https"},
		{beyond, config.Access{}, "https"},
		{beyond, config.Access{Certificate: "own.pem"}, "https"},
		{beyond, config.Access{PlainHTTP: true}, "http"},
		{beyond, config.Access{PlainHTTP: true, Certificate: "own.pem"}, "http"},
	} {
		require.Equal(t, c.want, config.Config{Listen: c.listen, Access: c.access}.Scheme(), "%+v", c)
	}
}
