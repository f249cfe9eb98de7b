//go:build python3

package report_test

import (
	"io"
	"os"
	"os/exec"
	"path/filepath"
	"strings"
	"testing"

	"github.com/stretchr/testify/require"

	"wetside/dashboard/report"
)

// pack writes a pack into a new folder.
func pack(t *testing.T, d report.Data) string {
	folder := t.TempDir()
	require.NoError(t, report.WriteFiles(report.Files(d), func(name string) (io.WriteCloser,
		error) {
		return os.Create(filepath.Join(folder, name))
	}))
	return folder
}

// recompute reads a pack by recompute.py.
func recompute(t *testing.T, folder string) (string, error) {
	out, err := exec.CommandContext(t.Context(), "python3", "recompute.py", folder).CombinedOutput()
	return string(out), err
}

func TestAnIndependentReadingInPythonComputesEveryTotalAgain(t *testing.T) {
	for _, d := range []report.Data{term(40), term(1), {}} {
		out, err := recompute(t, pack(t, d))
		require.NoError(t, err, out)
		require.Contains(t, out, "30 totals")
		require.Contains(t, out, "0 wrong")
	}
}

func TestTheIndependentReadingFindsAnAlteredTable(t *testing.T) {
	folder := pack(t, term(40))
	file := filepath.Join(folder, "sessions.csv")
	text, err := os.ReadFile(file)
	require.NoError(t, err)
	require.Contains(t, string(text), ",7200,")
	require.NoError(t, os.WriteFile(file, []byte(strings.Replace(string(text), ",7200,", ",7260,", 1)), 0o644))
	out, err := recompute(t, folder)
	require.Error(t, err)
	require.Contains(t, out, "ALTERED sessions.csv")
	require.Contains(t, out, "DIFFERS ")
	require.NoError(t, os.Remove(filepath.Join(folder, "report.html")))
	out, err = recompute(t, folder)
	require.Error(t, err)
	require.Contains(t, out, "ALTERED report.html", "a file that is missing is named, and the rest is read")
	require.Contains(t, out, "30 totals")
}
