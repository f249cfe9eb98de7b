//go:build pdftext

package report_test

import (
	"bytes"
	"os/exec"
	"slices"
	"strconv"
	"strings"
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"wetside/dashboard/locale"
	"wetside/dashboard/report"
	"wetside/sensors/quantity/phrase"
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
		value, unit := total.Value(), total.Unit
		switch {
		case total.Figure == nil:
			continue
		case unit == "min": // people read hours and whole minutes
			value, unit = report.Hours(time.Duration(*total.Figure*float64(time.Minute))), ""
		case unit == "L":
			value = strconv.FormatFloat(*total.Figure, 'f', 2, 64)
		case strings.Contains(value, "."):
			value = strconv.FormatFloat(*total.Figure, 'f', 2, 64)
		}
		name := total.Name.String()
		words := strings.ToUpper(name[:1]) + name[1:]
		require.Contains(t, text, strings.TrimSpace(words+" "+value+" "+unit))
	}
	for _, s := range d.Sessions {
		require.Contains(t, text, s.Begun.In(d.Zone).Format("2 Jan 2006 15:04 MST"))
	}
	for _, want := range []string{"Simulated: every figure here is invented.", "2 min", "Timer turned on again", "Never acknowledged:",
		"Developer tray",
		"No gas was measured: nothing here says what anybody breathed.", "ran 3 min, clear", "corrected by record 33",
		"Page 1 of " + strconv.Itoa(pagesOf(t, pdf(t, d)))} {
		require.Contains(t, text, want)
	}
}

func TestASignThatTheFontLacksIsWrittenAsItsNumber(t *testing.T) {
	d := term(1)
	names := map[string]string{"山田 Ждана": "[5C71 7530] Ждана", "مرحبا": "[645 631 62D 628 627]", "שלום": "[5E9 5DC 5D5 5DD]",
		"हिन्दी":   "[939 93F 928 94D 926 940]",
		"👩🏽‍🔬 Ada": "[1F469 1F3FD 200D 1F52C] Ada", "Zoe\u0308": "Zoë", "q\u0308y": "q[308]y"}
	for name := range names {
		d.People = append(d.People, report.Person{Name: name, Records: 1})
	}
	text := spoken(t, pdf(t, d))
	rows, whole := read(t, d, "people.csv"), page(t, d)
	for name, drawn := range names {
		require.Contains(t, text, drawn)
		require.Contains(t, whole, name, "the page carries it")
		require.True(t, slices.ContainsFunc(rows, func(row map[string]string) bool { return row["person"] == name }), "and the table")
	}
	require.Contains(t, text, "written as its Unicode number in brackets")
}

// A term whose first page is as full as a place's is: it holds the same on either paper.
func TestTheFirstPageHoldsItsContentsOnEitherPaper(t *testing.T) {
	for name, units := range map[string]locale.Units{"A4": {}, "letter": {Letter: true}} {
		d := term(24)
		d.By = units
		d.Sessions[0].Unproven, d.Sessions[1].Unproven = time.Minute, 0
		for i := 2; i < len(d.Sessions); i++ {
			d.Sessions[i].Unproven = 0
		}
		for range 3 {
			d.NotMeasured = append(d.NotMeasured,
				phrase.Say("A sentence on what was not measured, long enough to take two lines of a page: it names "+
					"each of the probes of which no check is on record, one after another."))
		}
		d.NotMeasured = append(d.NotMeasured, phrase.Say("One more."))
		first := exec.Command("pdftotext", "-l", "1", "-", "-")
		first.Stdin = bytes.NewReader(pdf(t, d))
		out, err := first.Output()
		require.NoError(t, err)
		require.Contains(t, string(out), "How each total is computed", name)
	}
}
