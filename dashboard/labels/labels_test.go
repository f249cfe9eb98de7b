package labels_test

import (
	"bytes"
	"compress/zlib"
	"fmt"
	"io"
	"regexp"
	"strconv"
	"strings"
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"wetside/dashboard/labels"
	"wetside/dashboard/report"
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

// On the first and on the last label of every sheet the square of the address is whole, as large on
// both sides, and within its label.
func TestTheSquareOfAnAddressIsWholeOnEverySheet(t *testing.T) {
	const address = "https://lab.example/shelf/FX-7"
	want, err := report.NewSquare(address)
	require.NoError(t, err)
	var runs [][3]int
	want.Runs(func(x, y, length int) { runs = append(runs, [3]int{x, y, length}) })
	const point = 25.4 / 72
	for _, s := range labels.Sheets() {
		for _, n := range []int{0, s.Count() - 1} {
			label := fixer()
			label.Address = address
			var out bytes.Buffer
			require.NoError(t, labels.WritePDF(&out, labels.Print{Sheet: s, From: n + 1, Made: made()}, []labels.Label{label}))
			drawn := filled(t, out.Bytes())
			require.Len(t, drawn, len(runs), "%s %d", s.ID, n)
			left, top := s.Left+float64(n%s.Columns)*s.Across, s.Top+float64(n/s.Columns)*s.Down
			field := -drawn[0][3] * point // a rectangle of a page is drawn downwards
			first := drawn[0]
			for i, r := range drawn {
				x, y := r[0]*point, s.Height-r[1]*point
				require.InDelta(t, float64(runs[i][0]-runs[0][0])*field, x-first[0]*point, 0.05, "%s %d", s.ID, n)
				require.InDelta(t, float64(runs[i][1]-runs[0][1])*field, y-(s.Height-first[1]*point), 0.05, "%s %d", s.ID, n)
				require.InDelta(t, float64(runs[i][2])*field, r[2]*point, 0.05, "%s %d", s.ID, n)
				quiet := report.SquareMargin * field
				require.True(t, x >= left+quiet && x+r[2]*point <= left+s.Wide-quiet && y >= top+quiet && y+field <= top+s.High-quiet,
					"%s %d: %v is not within its label with its margin", s.ID, n, r)
			}
			require.GreaterOrEqual(t, field, 0.25, "%s: a camera of a phone tells fields of 0.25 mm apart (common practice)", s.ID)
		}
	}
}

// filled are the rectangles that are filled on the page of a PDF: x, y, width and height in points.
func filled(t *testing.T, pdf []byte) (all [][4]float64) {
	t.Helper()
	for _, stream := range regexp.MustCompile(`(?s)stream\n(.*?)\nendstream`).FindAllSubmatch(pdf, -1) {
		r, err := zlib.NewReader(bytes.NewReader(stream[1]))
		if err != nil {
			continue // a font that is stored as it is
		}
		page, err := io.ReadAll(r)
		require.NoError(t, err)
		for _, m := range regexp.MustCompile(`([-.0-9]+) ([-.0-9]+) ([-.0-9]+) ([-.0-9]+) re f`).FindAllSubmatch(page, -1) {
			var rect [4]float64
			for i := range rect {
				rect[i], err = strconv.ParseFloat(string(m[i+1]), 64)
				require.NoError(t, err)
			}
			all = append(all, rect)
		}
	}
	return all
}

// The paper in the file is the paper of the sheet, A4 and US letter.
func TestTheFileHasThePaperOfItsSheet(t *testing.T) {
	for _, s := range labels.Sheets() {
		var out bytes.Buffer
		require.NoError(t, labels.WritePDF(&out, labels.Print{Sheet: s, From: 1, Made: made()}, []labels.Label{fixer()}))
		want := map[string]string{"A4": "595.28 841.89", "US letter": "612.00 792.00"}[s.Paper]
		require.Contains(t, out.String(), "/MediaBox [0 0 "+want+"]", s.ID)
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
