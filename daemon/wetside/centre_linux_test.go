package main

import (
	"context"
	"io"
	"net/http"
	"os"
	"path/filepath"
	"regexp"
	"strings"
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"wetside/configs"
	"wetside/daemon/centre/pgtest"
)

// inBackground starts a command line and gives what ends it, with its exit code.
func inBackground(t *testing.T, args ...string) (end func() int) {
	ctx, cancel := context.WithCancel(context.Background())
	ended := make(chan int, 1)
	go func() { ended <- execute(ctx, args, io.Discard, os.Stderr) }()
	end = func() int { cancel(); return <-ended }
	return end
}

// TestASiteIsKeptAtACentreByThreeCommands does what the README says.
func TestASiteIsKeptAtACentreByThreeCommands(t *testing.T) {
	server, err := pgtest.Start()
	require.NoError(t, err)
	t.Cleanup(func() { require.NoError(t, server.Stop()) })
	database, err := server.Create("wetside")
	require.NoError(t, err)
	t.Setenv("WETSIDE_DATABASE", database)
	address := freeAddress(t)
	endCentre := inBackground(t, "centre", "--listen", address)

	added := say(t, "centre", "add-site", "Library basement", "--building", "Library", "--url", "http://"+address)
	require.Equal(t, exitDone, added.code, added.errs)
	key := filepath.Join(t.TempDir(), "centre-key")
	require.NoError(t, os.WriteFile(key, []byte(regexp.MustCompile(`(?m)^[0-9a-f]{64}$`).FindString(added.out)+"\n"), 0o600))
	_, lines, found := strings.Cut(added.out, "[centre]")
	require.True(t, found)
	lines, _, _ = strings.Cut("[centre]"+lines, "Where the centre")
	dir := t.TempDir()
	site := filepath.Join(dir, "site.toml")
	text := strings.ReplaceAll(string(configs.OneRoom)+"\n"+lines, "/etc/wetside/centre-key", key)
	text = strings.Replace(text, "127.0.0.1:8420", freeAddress(t), 1)
	require.NoError(t, os.WriteFile(site, []byte(text), 0o600))
	require.Equal(t, exitDone, say(t, "check", site).code)

	data := filepath.Join(dir, "data")
	endSite := inBackground(t, "run", "--config", site, "--data", data)
	verify := []string{"verify", "--data", data, "--centre", "http://" + address, "--centre-key", key}
	require.Eventually(t, func() bool {
		s := say(t, verify...)
		return s.code == exitDone && strings.Contains(s.out, "The centre took record")
	}, 30*time.Second, 200*time.Millisecond)
	require.Eventually(t, func() bool {
		page := seen(t, "http://"+address+"/")
		return strings.Contains(page, "Library basement") && strings.Contains(page, "Verified to record")
	}, 30*time.Second, 200*time.Millisecond)
	require.Equal(t, exitDone, endSite())

	require.NoError(t, server.Tell("wetside", "ALTER TABLE wetside.record DISABLE TRIGGER USER; UPDATE wetside.record SET hash = "+
		"repeat('a', 64) WHERE number = 2; "+
		"UPDATE wetside.record SET hash = repeat('b', 64) WHERE number > 2"))
	s := say(t, verify...)
	require.Equal(t, exitFailed, s.code)
	require.Contains(t, s.errs, "record 2 is the first that is not the one that the centre took")

	require.Equal(t, exitDone, say(t, "centre", "close-site", "Library basement").code)
	require.Contains(t, say(t, verify...).errs, "the centre knows no site by this key")
	require.Contains(t, say(t, "centre", "close-site", "Annex").errs, `there is no open site "Annex"`)
	require.Equal(t, exitDone, endCentre())
}

// seen is the page at an address.
func seen(t *testing.T, url string) string {
	r, err := http.Get(url)
	require.NoError(t, err)
	defer r.Body.Close()
	text, err := io.ReadAll(r.Body)
	require.NoError(t, err)
	return string(text)
}
