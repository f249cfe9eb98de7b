//go:build pdftext

package report_test

import (
	"bytes"
	"os/exec"
	"strconv"
	"strings"
	"testing"

	"github.com/stretchr/testify/require"

	"wetside/dashboard/report"
)

// spoken is the text of a PDF as the tool of another project reads it, with every
// space and line break made one space.
func spoken(t *testing.T, data []byte) string {
	read := exec.Command("pdftotext", "-layout", "-", "-")
	read.Stdin = bytes.NewReader(data)
	out, err := read.Output()
	require.NoError(t, err, "these tests need pdftotext: install the package poppler-utils")
	return strings.Join(strings.Fields(string(out)), " ")
}

func TestThePDFSaysWhatTheTablesSay(t *testing.T) {
	d := term(9)
	text := spoken(t, pdf(t, d))
	for _, total := range report.Totals(d) {
		value := total.Value()
		if total.Figure == nil {
			continue
		}
		if strings.Contains(value, ".") {
			value = strconv.FormatFloat(*total.Figure, 'f', 2, 64)
		}
		words := strings.ToUpper(total.Name[:1]) + total.Name[1:]
		require.Contains(t, text, strings.TrimSpace(words+" "+value+" "+total.Unit))
	}
	for _, s := range d.Sessions {
		require.Contains(t, text, s.Begun.In(d.Zone).Format("2 Jan 2006 15:04 -07:00"))
	}
	for _, want := range []string{"Simulated: every figure here is invented.", "1.6 min", "Timer turned on again", "nobody answered", "Developer tray",
		"No gas was measured: nothing here says what anybody breathed.", "ran 3 min, clear", "corrected by record 33", "Page 1 of " + strconv.Itoa(pagesOf(t, pdf(t, d)))} {
		require.Contains(t, text, want)
	}
}

func TestASignThatTheFontLacksIsWrittenAsItsNumber(t *testing.T) {
	d := term(1)
	d.People = append(d.People, report.Person{Name: "山田 Ждана", Records: 1})
	text := spoken(t, pdf(t, d))
	require.Contains(t, text, "[5C71][7530] Ждана")
	require.Contains(t, text, "written as its Unicode number in brackets")
}
