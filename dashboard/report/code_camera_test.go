//go:build pdftext

package report_test

import (
	"bytes"
	"errors"
	"os"
	"os/exec"
	"path/filepath"
	"strings"
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"wetside/dashboard/labels"
	"wetside/dashboard/report"
)

// seen is what a reader of another project finds in the squares on the pages of a PDF.
func seen(t *testing.T, pdf []byte) string {
	t.Helper()
	folder := t.TempDir()
	file := filepath.Join(folder, "report.pdf")
	require.NoError(t, os.WriteFile(file, pdf, 0o600))
	require.NoError(t, exec.Command("pdftoppm", "-r", "150", "-png", file, filepath.Join(folder, "page")).Run(),
		"install the package poppler-utils")
	pages, err := filepath.Glob(filepath.Join(folder, "page*.png"))
	require.NoError(t, err)
	out, err := exec.Command("zbarimg", append([]string{"--raw", "-q", "-Sdisable", "-Sqrcode.enable"}, pages...)...).Output()
	if exit, is := errors.AsType[*exec.ExitError](err); is && exit.ExitCode() == 4 {
		err = nil // some of the pages have no square
	}
	require.NoError(t, err, "install the package zbar-tools")
	return string(out)
}

func TestACameraReadsTheCheckpointOfAReport(t *testing.T) {
	d := term(2)
	require.Equal(t, strings.ToUpper(d.Book.Checkpoint)+"\n", seen(t, pdf(t, d)))

	d.Book.Holds, d.Book.Problem = false, "record 7 fails verification"
	require.False(t, strings.Contains(page(t, d), `<figure class="report-code"`), "a broken book has no checkpoint to keep")
}

func TestACameraReadsTheAddressOnEveryLabel(t *testing.T) {
	const address = "https://darkroom.example.org/shelf/fixer-2026-01-14"
	for _, sheet := range labels.Sheets() {
		var out bytes.Buffer
		label := labels.Label{Code: "AC7KX", Address: address, Name: "Fixer (fixer)", Lines: []string{"Mixed 14 Jan 2026"},
			By: "Discard by 14 Mar 2026"}
		require.NoError(t, labels.WritePDF(&out, labels.Print{Sheet: sheet, From: 1, Made: time.Unix(0, 0)}, []labels.Label{label}))
		require.Equal(t, address+"\n", seen(t, out.Bytes()), sheet.ID)
	}
}

func TestATextThatIsTooLongForASquareIsAnError(t *testing.T) {
	_, err := report.NewSquare(strings.Repeat("x", 5000))
	require.ErrorContains(t, err, "5000 letters")
}
