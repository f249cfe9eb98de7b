//go:build qemu && linux

package main

import (
	"bytes"
	"net/http"
	"os"
	"os/exec"
	"path/filepath"
	"testing"
	"time"

	"github.com/stretchr/testify/require"
)

// Small boards have processors that a developer's computer lacks: here they are emulated
// (Debian's qemu-user-static).
func TestAKilledDemoHoldsOnOtherProcessors(t *testing.T) {
	for processor, emulator := range map[string]string{"arm64": "qemu-aarch64-static", "arm": "qemu-arm-static"} {
		t.Run(processor, func(t *testing.T) {
			built := filepath.Join(t.TempDir(), "wetside")
			build := exec.Command("../../.ci/release", "linux/"+processor, built)
			build.Env = append(os.Environ(), "GOFLAGS=")
			said, err := build.CombinedOutput()
			require.NoError(t, err, "%s", said)
			emulated := func(args ...string) *program {
				p := &program{Cmd: exec.Command(emulator, append([]string{built}, args...)...), errs: &bytes.Buffer{}}
				p.Stderr = p.errs
				return p
			}
			data := t.TempDir()
			client := &http.Client{Timeout: time.Minute, Transport: &http.Transport{}}
			defer client.CloseIdleConnections()
			for _, told := range []string{"invented complaint before the kill", "invented complaint after it"} {
				p := emulated("demo", "--empty", "--class", "--listen", "127.0.0.1:0", "--data", data)
				p.serve(t)
				require.Eventually(t, func() bool {
					s, err := look(client, p.url)
					return err == nil && s.live()
				}, 3*time.Minute, 100*time.Millisecond, p.errs)
				t.Logf("the dashboard after %v, readings after %v", p.ready.Round(time.Second), time.Since(p.started).Round(time.Second))
				require.NoError(t, complain(client, p.url, told))
				require.NoError(t, p.Process.Kill())
				require.Error(t, p.end(), "it was killed")
				verified, err := emulated("verify", "--data", data).Output()
				require.NoError(t, err, "%s", verified)
				require.Contains(t, string(verified), "Every record is verified.")
				exported := filepath.Join(t.TempDir(), "book.txt")
				require.NoError(t, emulated("export", "--data", data, "--book", exported).Run())
				book, err := os.ReadFile(exported)
				require.NoError(t, err)
				require.Contains(t, string(book), told, "what was acknowledged is in the book")
			}
		})
	}
}
