package labels_test

import (
	"bytes"
	"fmt"
	"regexp"
	"strings"
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"wetside/dashboard/labels"
)

func made() time.Time { return time.Date(2026, 1, 14, 20, 46, 0, 0, time.UTC) }

func fixer() labels.Label {
	return labels.Label{Code: "AC7KX", Name: "Fixer (fixer)", Lines: []string{"1 part of concentrate + 4 parts of water: 400 mL + 1600 " +
		"mL = 2000 mL", "Mixed 14 Jan 2026", "By Ida, house"},
		By: "Discard by 14 Mar 2026 (full bottle; common practice)", Cautions: []string{"The safety data sheet comes first.",
			"Used fixer holds silver: keep it apart."}}
}

func pages(pdf string) int {
	return len(regexp.MustCompile(`/Type /Page\b[^s]`).FindAllString(pdf, -1))
}

func TestEverySheetLiesWithinItsPaper(t *testing.T) {
	for _, s := range labels.Sheets() {
		right := s.Left + float64(s.Columns-1)*s.Across + s.Wide
		bottom := s.Top + float64(s.Rows-1)*s.Down + s.High
		require.LessOrEqual(t, right, s.Width, s.ID)
		require.LessOrEqual(t, bottom, s.Height, s.ID)
		require.GreaterOrEqual(t, s.Across, s.Wide, "%s: labels don't overlap", s.ID)
		require.GreaterOrEqual(t, s.Down, s.High-1e-9, s.ID)
		require.InDelta(t, s.Left, s.Width-right, 0.3, "%s: margins are alike on both sides", s.ID)
		require.True(t, strings.HasSuffix(s.ID, fmt.Sprintf("-%d", s.Count())), s.ID)
		found, err := labels.Find(s.ID)
		require.NoError(t, err)
		require.Equal(t, s, found)
	}
	_, err := labels.Find("a5-1")
	require.ErrorContains(t, err, `no sheet of labels "a5-1"`)
}

func TestLabelsGoOnOverTheSheetsFromWhereTheFirstOneIsLeft(t *testing.T) {
	sheet, err := labels.Find("a4-8")
	require.NoError(t, err)
	for _, c := range []struct{ from, labels, pages int }{{1, 1, 1}, {1, 8, 1}, {1, 9, 2}, {8, 1, 1}, {8, 2, 2}, {5, 12, 2}} {
		var out bytes.Buffer
		list := make([]labels.Label, c.labels)
		for i := range list {
			list[i] = fixer()
		}
		require.NoError(t, labels.WritePDF(&out, labels.Print{Sheet: sheet, From: c.from, Made: made()}, list))
		require.Equal(t, c.pages, pages(out.String()), c)
	}
	for _, from := range []int{0, 9, -1} {
		require.ErrorContains(t, labels.WritePDF(&bytes.Buffer{}, labels.Print{Sheet: sheet, From: from}, []labels.Label{fixer()}),
			"labels 1 to 8")
	}
}

func TestTheSameLabelsAreTheSameBytes(t *testing.T) {
	for _, s := range labels.Sheets() {
		var one, two bytes.Buffer
		require.NoError(t, labels.WritePDF(&one, labels.Print{Sheet: s, From: 1, Made: made(), Simulated: "NOT REAL"}, []labels.Label{fixer()}))
		require.NoError(t, labels.WritePDF(&two, labels.Print{Sheet: s, From: 1, Made: made(), Simulated: "NOT REAL"}, []labels.Label{fixer()}))
		require.Equal(t, one.Bytes(), two.Bytes(), s.ID)
	}
}

func TestALabelOfAnyTextIsDrawn(t *testing.T) {
	sheet, err := labels.Find("letter-14")
	require.NoError(t, err)
	long := labels.Label{Code: strings.Repeat("W", 60), Name: strings.Repeat("x", 3000), By: "山 بحر \u200d 🙂",
		Lines: []string{"", strings.Repeat("word ", 500)}, Cautions: []string{"\n\t", "é"}}
	var out bytes.Buffer
	require.NoError(t, labels.WritePDF(&out, labels.Print{Sheet: sheet, From: 14, Made: made()}, []labels.Label{long, {}}))
	require.Equal(t, 2, pages(out.String()))
}
